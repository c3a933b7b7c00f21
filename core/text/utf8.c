#include "text_internal.h"

size_t text_utf8_decode(ovp_span text, uint32_t *code)
{
    unsigned char lead = (unsigned char)text.bytes[0];
    *code = UINT32_MAX;
    if (lead < 0x80) {
        *code = lead;
        return 1;
    }
    size_t length = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : 2;
    if (lead < 0xC2 || lead > 0xF4 || length > text.count)
        return 1;
    uint32_t value = lead & (0x7Fu >> length);
    for (size_t i = 1; i < length; i++) {
        unsigned char byte = (unsigned char)text.bytes[i];
        if ((byte & 0xC0) != 0x80)
            return 1;
        value = value << 6 | (byte & 0x3Fu);
    }
    /* overlong forms, surrogates, past the last plane */
    static const uint32_t smallest[] = {0, 0, 0x80, 0x800, 0x10000};
    if (value < smallest[length] || (value >= 0xD800 && value < 0xE000) || value > 0x10FFFF)
        return 1;
    *code = value;
    return length;
}
