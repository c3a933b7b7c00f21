#include "ovenproof/base.h"

#include <stdarg.h>
#include <stdio.h>

static void make_printable(char *text)
{
    for (; *text != '\0'; text++) {
        unsigned char byte = (unsigned char)*text;
        if (byte < 0x20 || byte == 0x7F)
            *text = '?';
        else if (byte == 0xC2 && (unsigned char)text[1] >= 0x80 && (unsigned char)text[1] < 0xA0)
            text[1] = '?', *text = '?'; /* C1 controls as UTF-8 */
    }
}

static void format_text(char *buffer, const char *format, va_list arguments)
{
    int wanted = vsnprintf(buffer, OVP_ERROR_TEXT_SIZE, format, arguments);
    if (wanted >= OVP_ERROR_TEXT_SIZE) /* cut at a byte */
        buffer[ovp_span_whole((ovp_span){buffer, OVP_ERROR_TEXT_SIZE - 1}).count] = '\0';
    make_printable(buffer);
}

ovp_status ovp_error_set(ovp_error *error, ovp_status status, const char *format, ...)
{
    if (error == NULL)
        return status;
    *error = (ovp_error){.status = status};
    va_list arguments;
    va_start(arguments, format);
    format_text(error->what, format, arguments);
    va_end(arguments);
    return status;
}

void ovp_error_place(ovp_error *error, const char *file, uint64_t line)
{
    if (error == NULL)
        return;
    if (file != NULL && error->file[0] == '\0') {
        ovp_copy_string(error->file, sizeof error->file, ovp_span_of(file));
        make_printable(error->file);
    }
    if (error->line == 0)
        error->line = line;
}

void ovp_error_hint(ovp_error *error, const char *format, ...)
{
    if (error == NULL || error->hint[0] != '\0')
        return;
    va_list arguments;
    va_start(arguments, format);
    format_text(error->hint, format, arguments);
    va_end(arguments);
}
