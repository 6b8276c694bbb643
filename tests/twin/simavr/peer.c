#include "peer.h"

#include <getopt.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <simavr/avr_eeprom.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_hex.h>

#define EEPROM_SIZE 1024
#define RANGES_MAX 16
#define SRAM_FIRST 0x100u

avr_t *chip;
unsigned log_wanted = LOG_ALL;

static bool asleep;

void refuse(const char *format, ...)
{
    va_list values;
    va_start(values, format);
    fputs("peer: ", stderr);
    vfprintf(stderr, format, values);
    fputc('\n', stderr);
    va_end(values);
    exit(2);
}

void say(log_kind_t kind, const char *format, ...)
{
    if ((log_wanted & kind) == 0) {
        return;
    }
    va_list values;
    va_start(values, format);
    printf("%llu ", (unsigned long long)chip->cycle);
    vprintf(format, values);
    putchar('\n');
    va_end(values);
}

FILE *open_input(const char *path)
{
    FILE *const file = strcmp(path, "-") == 0 ? stdin : fopen(path, "r");
    if (file == NULL) {
        refuse("%s cannot be opened", path);
    }
    return file;
}

bool next_line(FILE *file, char *line, int size)
{
    while (fgets(line, size, file) != NULL) {
        const size_t length = strcspn(line, "\n");
        if (line[length] == '\0' && !feof(file)) {
            refuse("a line is longer than %d characters: %s", size, line);
        }
        line[length] = '\0';
        if (length > 0 && line[0] != '#') {
            return true;
        }
    }
    return false;
}

static void complain(struct avr_t *avr, const int level, const char *format, va_list values)
{
    (void)avr;
    if (level <= LOG_ERROR) {
        vfprintf(stderr, format, values);
    }
}

/* In place of simavr's own, which would wait in real time. Called before the cycles of
 * sleep are added, and also where an interrupt asked while they were worked out: simavr
 * then sleeps on to its next timer, which the chip does not, so they are taken back. */
static void slept(struct avr_t *avr, avr_cycle_count_t cycles)
{
    if (script_ended() || avr_has_pending_interrupts(avr)) {
        avr->cycle -= cycles;
        return;
    }
    if (!asleep) {
        say(LOG_SLEEP, "sleep");
    }
    asleep = true;
}

static void sent(struct avr_irq_t *irq, uint32_t byte, void *param)
{
    (void)irq;
    (void)param;
    say(LOG_TX, "tx %02X", byte & 0xff);
}

static void load_program(const char *path)
{
    uint32_t size = 0;
    uint32_t start = 0;
    uint8_t *const program = read_ihex_file(path, &size, &start);
    if (program == NULL || start + size > chip->flashend + 1) {
        refuse("%s is no Intel hex file of at most %lu bytes", path, (unsigned long)chip->flashend + 1);
    }
    memset(chip->flash, 0xff, chip->flashend + 1);
    memcpy(chip->flash + start, program, size);
    chip->codeend = start + size;
    free(program);
}

static void load_eeprom(const char *path)
{
    static uint8_t bytes[EEPROM_SIZE];
    memset(bytes, 0xff, sizeof bytes);
    FILE *const file = open_input(path);
    unsigned byte;
    for (unsigned n = 0; n < sizeof bytes && fscanf(file, "%2x", &byte) == 1; n++) {
        bytes[n] = (uint8_t)byte;
    }
    fclose(file);
    avr_eeprom_desc_t all = {.ee = bytes, .offset = 0, .size = sizeof bytes};
    avr_ioctl(chip, AVR_IOCTL_EEPROM_SET, &all);
}

static void print_bytes(const char *name, const uint8_t *bytes, unsigned count)
{
    fputs(name, stdout);
    putchar(' ');
    for (unsigned n = 0; n < count; n++) {
        printf("%02X", bytes[n]);
    }
    putchar('\n');
}

static unsigned kinds(const char *list)
{
    static const char *const names[] = {"tx", "out", "sleep", "reset", "bridge"};
    unsigned wanted = 0;
    char copy[80];
    snprintf(copy, sizeof copy, "%s", list);
    for (const char *word = strtok(copy, ","); word != NULL; word = strtok(NULL, ",")) {
        unsigned n = 0;
        while (n < sizeof names / sizeof *names && strcmp(word, names[n]) != 0) {
            n++;
        }
        if (n == sizeof names / sizeof *names) {
            refuse("--only %s: the kinds are tx, out, sleep, reset and bridge", word);
        }
        wanted |= 1u << n;
    }
    return wanted;
}

static void make_chip(void)
{
    avr_global_logger_set(complain);
    chip = avr_make_mcu_by_name("atmega328p");
    if (chip == NULL) {
        refuse("this simavr knows no atmega328p");
    }
    avr_init(chip);
    chip->frequency = CLOCK_HZ;
    chip->vcc = chip->avcc = chip->aref = SUPPLY_mV;
    chip->run = avr_callback_run_raw;
    chip->sleep = slept;
    /* No console of its own, no waiting in real time while the receiver is polled. */
    uint32_t flags = 0;
    avr_ioctl(chip, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
    avr_irq_register_notify(avr_io_getirq(chip, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), sent, NULL);
}

static int run(void)
{
    while (!script_ended()) {
        const int state = avr_run(chip);
        if (asleep && state == cpu_Running) {
            asleep = false;
            say(LOG_SLEEP, "wake");
        }
        if (state == cpu_Done || state == cpu_Crashed) {
            fprintf(stderr, "peer: the program %s at cycle %llu, address 0x%x\n",
                    state == cpu_Done ? "slept with interrupts off" : "crashed", (unsigned long long)chip->cycle, chip->pc);
            return 1;
        }
        resets_noticed();
    }
    return 0;
}

int main(int argc, char **argv)
{
    static const struct option options[] = {
        {"hex", required_argument, NULL, 'h'},       {"script", required_argument, NULL, 's'},
        {"bridge", required_argument, NULL, 'b'},    {"spi", required_argument, NULL, 't'},
        {"eeprom-in", required_argument, NULL, 'i'}, {"sram", required_argument, NULL, 'r'},
        {"eeprom", no_argument, NULL, 'e'},          {"only", required_argument, NULL, 'o'},
        {NULL, 0, NULL, 0},
    };
    const char *script = "-";
    const char *hex = NULL;
    bool show_eeprom = false;
    unsigned ranges = 0;
    unsigned from[RANGES_MAX];
    unsigned length[RANGES_MAX];
    static char buffer[1 << 16];
    setvbuf(stdout, buffer, _IOFBF, sizeof buffer);

    make_chip();
    pins_connect();
    for (int letter; (letter = getopt_long(argc, argv, "", options, NULL)) != -1;) {
        switch (letter) {
        case 'h': hex = optarg; break;
        case 's': script = optarg; break;
        case 'b': bridge_load(optarg); break;
        case 't': thermocouple_load(optarg); break;
        case 'i': load_eeprom(optarg); break;
        case 'e': show_eeprom = true; break;
        case 'o': log_wanted = kinds(optarg); break;
        case 'r':
            if (ranges == RANGES_MAX || sscanf(optarg, "%x:%u", &from[ranges], &length[ranges]) != 2 ||
                from[ranges] + length[ranges] > chip->ramend + 1u) {
                refuse("--sram %s: wanted at most %d of address (hexadecimal), colon, number of bytes", optarg, RANGES_MAX);
            }
            ranges++;
            break;
        default: return 2;
        }
    }
    if (hex == NULL) {
        refuse("--hex FILE is missing");
    }
    load_program(hex);
    script_load(script);
    resets_watch();

    const int failed = run();
    if (failed != 0) {
        return failed;
    }
    printf("%llu end\n", (unsigned long long)chip->cycle);
    for (unsigned n = 0; n < ranges; n++) {
        char name[32];
        snprintf(name, sizeof name, "sram %04X", from[n]);
        print_bytes(name, chip->data + from[n], length[n]);
    }
    if (show_eeprom) {
        avr_eeprom_desc_t all = {.ee = NULL, .offset = 0, .size = EEPROM_SIZE};
        avr_ioctl(chip, AVR_IOCTL_EEPROM_GET, &all);
        print_bytes("eeprom", all.ee, EEPROM_SIZE);
    }
    return 0;
}
