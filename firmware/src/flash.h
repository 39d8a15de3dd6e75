/* Constants that stay in flash on the AVR and are ordinary constants on a computer. */
#ifndef FLASH_H
#define FLASH_H

#include <stdint.h> // uint8_t

#ifdef __AVR__
#include <avr/pgmspace.h> // PROGMEM, pgm_read_byte
#define FLASH PROGMEM
#define flash_byte(address) pgm_read_byte(address)
#define flash_word(address) pgm_read_word(address)
#define flash_long(address) pgm_read_dword(address)
#else
#define FLASH
#define flash_byte(address) (*(const uint8_t *)(address))
#define flash_word(address) (*(const uint16_t *)(address))
#define flash_long(address) (*(const uint32_t *)(address))
#endif

#endif
