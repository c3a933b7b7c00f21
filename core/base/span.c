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

bool ovp_copy_string(char *buffer, size_t size, ovp_span from)
{
    if (size == 0)
        return false;
    size_t count = from.count;
    bool fits = count < size;
    if (!fits) {
        count = size - 1;
        size_t back = 0; /* no letter is longer than four bytes: what goes on is no UTF-8, and is kept */
        while (back < 4 && back <= count && ((unsigned char)from.bytes[count - back] & 0xC0) == 0x80)
            back++;
        if (back < 4 && back <= count)
            count -= back;
    }
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
