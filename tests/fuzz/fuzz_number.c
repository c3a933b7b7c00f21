/* A number is read as strtod in the C locale reads it, and written so that it reads back. */
#include "ovenproof/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void expect(bool holds)
{
    if (!holds)
        abort();
}

static uint64_t bits_of(double value)
{
    uint64_t bits;
    memcpy(&bits, &value, sizeof bits);
    return bits;
}

static void compare_with_strtod(ovp_span text, double value, size_t length)
{
    char *copy = malloc(length + 1), *end;
    expect(copy != NULL);
    memcpy(copy, text.bytes, length);
    copy[length] = '\0';
    double expected = strtod(copy, &end);
    expect(end == copy + length);
    expect(bits_of(expected) == bits_of(value));
    free(copy);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    ovp_span text = {(const char *)data, size};
    double value = 0, again = 0;
    size_t length = ovp_text_scan_number(text, &value);
    expect(length <= size);
    if (length == 0)
        return 0;
    compare_with_strtod(text, value, length);
    char shortest[OVP_TEXT_NUMBER_SIZE], fixed[512];
    size_t written = ovp_text_format_number(value, shortest);
    expect(written == strlen(shortest));
    if (isfinite(value)) {
        expect(ovp_text_number((ovp_span){shortest, written}, &again));
        expect(bits_of(again) == bits_of(value));
    }
    expect(ovp_text_format_fixed(value, (int)(size % 20), fixed, sizeof fixed) == strlen(fixed));
    return 0;
}
