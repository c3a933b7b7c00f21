#include "text_internal.h"

#include <string.h>

text_encoding text_find_encoding(ovp_span start, size_t *mark)
{
    const unsigned char *bytes = (const unsigned char *)start.bytes;
    *mark = 0;
    if (start.count >= 3 && bytes[0] == 0xEF && bytes[1] == 0xBB && bytes[2] == 0xBF) {
        *mark = 3;
        return TEXT_ENCODING_ASCII_LIKE;
    }
    if (start.count >= 2 &&
        ((bytes[0] == 0xFF && bytes[1] == 0xFE) || (bytes[0] == 0xFE && bytes[1] == 0xFF))) {
        *mark = 2;
        return bytes[0] == 0xFF ? TEXT_ENCODING_UTF16_LITTLE : TEXT_ENCODING_UTF16_BIG;
    }
    size_t zeros[2] = {0, 0};
    for (size_t i = 0; i < start.count; i++)
        zeros[i & 1] += bytes[i] == 0;
    size_t pairs = start.count / 2;
    if (pairs >= 4 && zeros[0] == 0 && zeros[1] * 10 >= pairs * 9)
        return TEXT_ENCODING_UTF16_LITTLE;
    if (pairs >= 4 && zeros[1] == 0 && zeros[0] * 10 >= pairs * 9)
        return TEXT_ENCODING_UTF16_BIG;
    return TEXT_ENCODING_ASCII_LIKE;
}

bool text_is_ascii(ovp_span text)
{
    uint64_t all = 0;
    size_t i = 0;
    for (; i + 8 <= text.count; i += 8) {
        uint64_t eight = 0;
        memcpy(&eight, text.bytes + i, 8);
        all |= eight;
    }
    for (; i < text.count; i++)
        all |= (unsigned char)text.bytes[i];
    return (all & UINT64_C(0x8080808080808080)) == 0;
}

bool text_is_utf8(ovp_span text)
{
    while (text.count > 0) {
        uint32_t code = 0;
        size_t length = text_utf8_decode(text, &code);
        if (code == UINT32_MAX)
            return false;
        text = (ovp_span){text.bytes + length, text.count - length};
    }
    return true;
}

size_t text_utf8_encode(char *out, uint32_t code)
{
    if (code < 0x80) {
        out[0] = (char)code;
        return 1;
    }
    if (code < 0x800) {
        out[0] = (char)(0xC0 | code >> 6);
        out[1] = (char)(0x80 | (code & 0x3F));
        return 2;
    }
    if (code < 0x10000) {
        out[0] = (char)(0xE0 | code >> 12);
        out[1] = (char)(0x80 | (code >> 6 & 0x3F));
        out[2] = (char)(0x80 | (code & 0x3F));
        return 3;
    }
    out[0] = (char)(0xF0 | code >> 18);
    out[1] = (char)(0x80 | (code >> 12 & 0x3F));
    out[2] = (char)(0x80 | (code >> 6 & 0x3F));
    out[3] = (char)(0x80 | (code & 0x3F));
    return 4;
}

/* Latin-1; the letters of Windows-1252 at 0x80..0x9F matter to no reading but for the dash. */
ovp_span text_from_latin(ovp_span row, char *out)
{
    size_t count = 0;
    for (size_t i = 0; i < row.count; i++) {
        unsigned code = (unsigned char)row.bytes[i];
        if (code >= 0x80 && code < 0xA0)
            code = code == 0x96 || code == 0x97 ? '-' : '?';
        count += text_utf8_encode(out + count, code);
    }
    return (ovp_span){out, count};
}
