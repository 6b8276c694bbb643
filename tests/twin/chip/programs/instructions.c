/* What avr8js leaves wrong is put right: flags and cycles as in the manual. */
#include <avr/io.h>

volatile uint8_t neg_flags[4], fmulsu_flags[2];
volatile uint8_t went_on;
volatile uint16_t cbi_cycles, sbi_cycles, nop_cycles;

#define NEG(VALUE, OUT)                                                                                \
    do {                                                                                               \
        uint8_t v = (VALUE), f;                                                                        \
        __asm__ __volatile__("neg %1\n\tin %0, __SREG__" : "=r"(f), "+r"(v));                          \
        OUT = f & 0x3f;                                                                                \
    } while (0)

#define FMULSU(A, B, OUT)                                                                              \
    do {                                                                                               \
        register int8_t a __asm__("r18") = (A);                                                        \
        register uint8_t b __asm__("r19") = (B);                                                       \
        uint8_t f;                                                                                     \
        __asm__ __volatile__("fmulsu r18, r19\n\tin %0, __SREG__\n\tclr r1" : "=r"(f) : "r"(a), "r"(b) : "r0"); \
        OUT = f & 3;                                                                                   \
    } while (0)

#define TIME(CODE, OUT)                                                                                \
    do {                                                                                               \
        const uint16_t t0 = TCNT1;                                                                     \
        __asm__ __volatile__(CODE);                                                                    \
        OUT = (uint16_t)(TCNT1 - t0);                                                                  \
    } while (0)

int main(void)
{
    __asm__ __volatile__("sleep"); /* SE is 0: it does nothing */
    went_on = 1;
    NEG(0x80, neg_flags[0]);
    NEG(0x00, neg_flags[1]);
    NEG(0x01, neg_flags[2]);
    NEG(0xff, neg_flags[3]);
    FMULSU(0, 5, fmulsu_flags[0]);
    FMULSU(1, 5, fmulsu_flags[1]);
    TCCR1B = _BV(CS10);
    TIME("nop", nop_cycles);
    TIME("sbi 0x05, 0", sbi_cycles);
    TIME("cbi 0x05, 0", cbi_cycles);
    for (;;) {
    }
}
