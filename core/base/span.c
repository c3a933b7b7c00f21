#include "ovenproof/base.h"

#include <string.h>

static char lower(char letter)
{
    return letter >= 'A' && letter <= 'Z' ? (char)(letter - 'A' + 'a') : letter;
}

static bool is_blank(char letter)
{
    return letter == ' ' || letter == '\t' || letter == '\r' || letter == '\n' || letter == '\v' ||
           letter == '\f';
}

ovp_span ovp_span_of(const char *string)
{
    return (ovp_span){string, strlen(string)};
}

bool ovp_span_equals(ovp_span span, const char *string)
{
    for (size_t i = 0; i < span.count; i++)
        if (string[i] == '\0' || lower(span.bytes[i]) != lower(string[i]))
            return false;
    return string[span.count] == '\0';
}

ovp_span ovp_span_trim(ovp_span span)
{
    while (span.count > 0 && is_blank(span.bytes[0])) {
        span.bytes++;
        span.count--;
    }
    while (span.count > 0 && is_blank(span.bytes[span.count - 1]))
        span.count--;
    return span;
}

ovp_span ovp_span_whole(ovp_span span)
{
    size_t lead = span.count;
    while (lead > 0 && span.count - lead < 3 && ((unsigned char)span.bytes[lead - 1] & 0xC0) == 0x80)
        lead--;
    const unsigned char first = lead > 0 ? (unsigned char)span.bytes[lead - 1] : 0;
    const size_t needed = first >= 0xF8 ? 1 : first >= 0xF0 ? 4 : first >= 0xE0 ? 3 : first >= 0xC0 ? 2 : 1;
    if (lead > 0 && lead - 1 + needed > span.count)
        span.count = lead - 1;
    return span;
}

bool ovp_copy_string(char *buffer, size_t size, ovp_span from)
{
    if (size == 0)
        return false;
    const bool fits = from.count < size;
    const size_t count = fits ? from.count : ovp_span_whole((ovp_span){from.bytes, size - 1}).count;
    if (count > 0)
        memcpy(buffer, from.bytes, count);
    buffer[count] = '\0';
    return fits;
}

uint64_t ovp_digest(uint64_t from, ovp_span bytes)
{
    for (size_t i = 0; i < bytes.count; i++)
        from = (from ^ (unsigned char)bytes.bytes[i]) * UINT64_C(1099511628211);
    return from;
}
