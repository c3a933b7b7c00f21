/* Shared by the files of this room only. */
#ifndef OVENPROOF_TEXT_INTERNAL_H
#define OVENPROOF_TEXT_INTERNAL_H

#include "ovenproof/text.h"

/*
 * Whole numbers of a fixed size, for the rare numbers that double arithmetic cannot settle. The largest
 * is 10^1130 (800 digits kept of a number next to the smallest double), 3,754 bits; 64 more for a shift.
 */
enum {
    TEXT_BIG_LIMBS = 124,
};

typedef struct text_big {
    uint32_t limb[TEXT_BIG_LIMBS]; /* least first; those past `count` are not set */
    size_t count;                  /* no zero limb on top; 0 is the number zero */
} text_big;

void text_big_set(text_big *big, uint64_t value);
void text_big_multiply_add(text_big *big, uint32_t factor, uint32_t addend);
void text_big_multiply_power_of_ten(text_big *big, unsigned exponent);
void text_big_shift_left(text_big *big, unsigned bits);
void text_big_add(text_big *big, const text_big *other);
/* big -= other, which must not be larger */
void text_big_subtract(text_big *big, const text_big *other);
int text_big_compare(const text_big *a, const text_big *b);
/* Divides in place, returns the remainder. */
uint32_t text_big_divide_small(text_big *big, uint32_t divisor);
unsigned text_big_bits(const text_big *big);

/*
 * One character of UTF-8 at the start of a span that is not empty. Returns its bytes; a byte that begins
 * no valid character counts one and gives *code = UINT32_MAX.
 */
size_t text_utf8_decode(ovp_span text, uint32_t *code);

/* ---- encodings of delimited text ------------------------------------------------------------------ */

typedef enum text_encoding {
    TEXT_ENCODING_UNKNOWN,
    TEXT_ENCODING_ASCII_LIKE,
    TEXT_ENCODING_UTF16_LITTLE,
    TEXT_ENCODING_UTF16_BIG,
} text_encoding;

/* From the first bytes of a text; *mark is the length of the byte order mark. */
text_encoding text_find_encoding(ovp_span start, size_t *mark);
bool text_is_ascii(ovp_span text);
bool text_is_utf8(ovp_span text);
/* Writes one character, 1 to 4 bytes; returns how many. */
size_t text_utf8_encode(char *out, uint32_t code);
/* Windows-1252 to UTF-8; `out` has room for twice the bytes. */
ovp_span text_from_latin(ovp_span row, char *out);

#endif
