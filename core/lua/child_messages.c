/*
 * What the closed process says and how it is read. A message is `WORD LENGTH`, a line end, LENGTH bytes and a
 * line end. The reader believes nothing: what breaks the form ends the reading.
 */
#include "lua/lua_internal.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

/* ---- saying -------------------------------------------------------------------------------------------- */

static bool write_all(int channel, const char *bytes, size_t count)
{
    while (count > 0) {
        ssize_t wrote = write(channel, bytes, count);
        if (wrote < 0 && errno == EINTR)
            continue;
        if (wrote <= 0)
            return false;
        bytes += wrote;
        count -= (size_t)wrote;
    }
    return true;
}

bool child_say(int channel, const char *word, const char *bytes, size_t count)
{
    char message[CHILD_WORD_BYTES + CHILD_PAYLOAD_BYTES + 32];
    if (count > CHILD_PAYLOAD_BYTES)
        return false;
    int head = snprintf(message, CHILD_WORD_BYTES + 32, "%s %zu\n", word, count);
    if (head <= 0 || head >= CHILD_WORD_BYTES + 32)
        return false;
    size_t used = (size_t)head;
    if (count > 0)
        memcpy(message + used, bytes, count);
    used += count;
    message[used++] = '\n';
    return write_all(channel, message, used);
}

/* ---- reading ------------------------------------------------------------------------------------------- */

void child_reader_init(child_reader *reader, child_take take, void *context)
{
    reader->place = CHILD_IN_WORD;
    reader->word_count = reader->payload_count = reader->payload_length = reader->digits = 0;
    reader->take = take;
    reader->context = context;
}

static bool in_word(child_reader *reader, char byte)
{
    if (byte == ' ' && reader->word_count > 0) {
        reader->word[reader->word_count] = '\0';
        reader->place = CHILD_IN_LENGTH;
        reader->digits = reader->payload_length = 0;
        return true;
    }
    bool plain = (byte >= 'a' && byte <= 'z') || byte == '-';
    if (!plain || reader->word_count == CHILD_WORD_BYTES - 1)
        return false;
    reader->word[reader->word_count++] = byte;
    return true;
}

static bool in_length(child_reader *reader, char byte)
{
    if (byte == '\n' && reader->digits > 0) {
        reader->payload_count = 0;
        reader->place = reader->payload_length > 0 ? CHILD_IN_PAYLOAD : CHILD_AT_END;
        return true;
    }
    if (byte < '0' || byte > '9' || reader->digits == 5)
        return false;
    reader->digits++;
    reader->payload_length = 10 * reader->payload_length + (size_t)(byte - '0');
    return reader->payload_length <= CHILD_PAYLOAD_BYTES;
}

static bool at_end(child_reader *reader, char byte)
{
    if (byte != '\n')
        return false;
    reader->payload[reader->payload_length] = '\0';
    reader->place = CHILD_IN_WORD;
    reader->word_count = 0;
    return reader->take(reader->context, reader->word, (ovp_span){reader->payload, reader->payload_length});
}

static size_t take_payload(child_reader *reader, const char *bytes, size_t count)
{
    size_t wanted = reader->payload_length - reader->payload_count;
    size_t taken = count < wanted ? count : wanted;
    memcpy(reader->payload + reader->payload_count, bytes, taken);
    reader->payload_count += taken;
    if (reader->payload_count == reader->payload_length)
        reader->place = CHILD_AT_END;
    return taken;
}

bool child_reader_push(child_reader *reader, const char *bytes, size_t count)
{
    size_t at = 0;
    while (at < count) {
        bool right = true;
        switch (reader->place) {
        case CHILD_IN_WORD:
            right = in_word(reader, bytes[at++]);
            break;
        case CHILD_IN_LENGTH:
            right = in_length(reader, bytes[at++]);
            break;
        case CHILD_IN_PAYLOAD:
            at += take_payload(reader, bytes + at, count - at);
            break;
        case CHILD_AT_END:
            right = at_end(reader, bytes[at++]);
            break;
        }
        if (!right)
            return false;
    }
    return true;
}
