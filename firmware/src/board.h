/* Pins and constants of the sensor board: ATmega328P at 16 MHz. Wiring: hardware-notes/. */
#ifndef BOARD_H
#define BOARD_H

#include "wire.gen.h"

#ifndef __AVR_ATmega328P__
#error "this firmware is for the ATmega328P: build with -mmcu=atmega328p"
#endif
#if F_CPU != 16000000UL
#error "the baud rate and the tick are exact at 16 MHz only: build with -DF_CPU=16000000UL"
#endif

#define FIRMWARE_VERSION 0x000200UL /* major, minor, patch, a byte each */

/* Port B */
#define HALL_PIN PB0     /* ICP1, falling edge: a magnet arrives */
/* Port D */
#define BRIDGE_DATA PD2  /* INT0, falls when a conversion is ready */
#define BRIDGE_CLOCK PD4
#define FLOW_PIN PD3     /* INT1, falling edge: a pulse */
#define BUTTON_PIN PD5   /* PCINT21, low while pressed */
/* Port B again: the thermocouple converter on SPI */
#define HOT_SELECT PB2
#define HOT_DATA PB4
#define HOT_CLOCK PB5
/* Port C: ADC0 coolant in, ADC1 coolant out, ADC2 skin, ADC3 spare */

#define TICKS_PER_MS (F_CPU / WIRE_CYCLES_PER_TICK / 1000UL)

#define UBRR_VALUE (F_CPU / (16UL * WIRE_BAUD) - 1UL)
_Static_assert(F_CPU == 16UL * WIRE_BAUD * (UBRR_VALUE + 1UL), "the baud rate must be exact");

#endif
