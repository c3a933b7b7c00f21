/* The first byte chooses the kind; a quantity is read or refused with words, never both. */
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

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size == 0)
        return 0;
    ovp_text_kind kind = (ovp_text_kind)(data[0] % (OVP_TEXT_COUNT + 1));
    ovp_text_degrees bare = (ovp_text_degrees)(data[0] / 16 % 4);
    ovp_span text = {(const char *)data + 1, size - 1};
    ovp_error error = {0};
    double value = 12345;
    if (ovp_text_quantity(text, kind, bare, &value, &error) == OVP_OK) {
        char buffer[64];
        expect(isfinite(value));
        expect(kind != OVP_TEXT_TEMPERATURE || value >= -273.15);
        expect(kind != OVP_TEXT_DURATION || value >= 0);
        expect(error.what[0] == '\0');
        ovp_text_format_temperature(value, bare, 1, buffer, sizeof buffer);
        ovp_text_format_duration(value, buffer, sizeof buffer);
    } else {
        expect(value == 12345);
        expect(error.status == OVP_ERROR_DATA && error.what[0] != '\0' && error.hint[0] != '\0');
    }
    ovp_text_degrees_named(text, &bare);
    return 0;
}
