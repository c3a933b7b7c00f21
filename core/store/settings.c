#include "store/store.h"

#include <errno.h>
#include <fcntl.h>
#include <libgen.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/*
 * The settings are a text that a person may edit: `key = value` lines, `#` comments. Reading is plain C:
 * every command does it.
 */

enum {
    SETTINGS_BYTES = 65536,
};

static const char *const keys[] = {"degrees", "colours", "tools", "instrument", "contact"};

enum {
    KEYS = sizeof keys / sizeof keys[0],
};

/* ---- one value ------------------------------------------------------------------------------------- */

static bool take_until(ovp_span *rest, char separator, ovp_span *piece)
{
    if (rest->bytes == NULL)
        return false;
    const char *end = rest->count == 0 ? NULL : memchr(rest->bytes, separator, rest->count);
    size_t count = end != NULL ? (size_t)(end - rest->bytes) : rest->count;
    *piece = ovp_span_trim((ovp_span){rest->bytes, count});
    if (end != NULL)
        *rest = (ovp_span){end + 1, rest->count - count - 1};
    else
        *rest = (ovp_span){NULL, 0};
    return true;
}

/* "certificate 1234" or "certificate=1234": the rest of a field after its word, or no span. */
static bool take_word(ovp_span field, const char *word, ovp_span *value)
{
    size_t length = strlen(word);
    if (field.count <= length || !ovp_span_equals((ovp_span){field.bytes, length}, word))
        return false;
    char next = field.bytes[length];
    if (next != ' ' && next != '=' && next != ':' && next != '\t')
        return false;
    ovp_span rest = ovp_span_trim((ovp_span){field.bytes + length, field.count - length});
    if (rest.count > 0 && (rest.bytes[0] == '=' || rest.bytes[0] == ':'))
        rest = ovp_span_trim((ovp_span){rest.bytes + 1, rest.count - 1});
    *value = rest;
    return true;
}

static bool is_clean(ovp_span text)
{
    for (size_t i = 0; i < text.count; i++)
        if ((unsigned char)text.bytes[i] < 0x20 || text.bytes[i] == 0x7F)
            return false;
    return true;
}

static bool is_uncertainty(ovp_span text)
{
    double value;
    return (ovp_text_quantity(text, OVP_TEXT_TEMPERATURE_DIFFERENCE, OVP_TEXT_DEGREES_NONE, &value, NULL) ==
                OVP_OK ||
            ovp_text_quantity(text, OVP_TEXT_VOLTAGE, OVP_TEXT_DEGREES_NONE, &value, NULL) == OVP_OK) &&
           value >= 0;
}

static ovp_status refuse(ovp_error *error, const char *what, ovp_span found, const char *example)
{
    ovp_status status = ovp_error_set(error, OVP_ERROR_DATA, "\"%.*s\" is no %s",
                                      (int)(found.count < 60 ? found.count : 60), found.bytes, what);
    ovp_error_hint(error, "write it like %s", example);
    return status;
}

static ovp_status take_field(ovp_span field, store_instrument *instrument, ovp_error *error)
{
    ovp_span value;
    bool fits = true;
    if (take_word(field, "certificate", &value)) {
        fits = ovp_copy_string(instrument->certificate, sizeof instrument->certificate, value);
    } else if (take_word(field, "due", &value)) {
        long day;
        if (value.count > 0 && !ovp_text_day(value, &day))
            return refuse(error, "date", value, "2027-03-01 (year-month-day)");
        ovp_copy_string(instrument->due, sizeof instrument->due, value);
    } else if (take_word(field, "U", &value)) {
        if (value.count > 0 && !is_uncertainty(value))
            return refuse(error, "uncertainty", value, "0.5C, 0.9F or 5uV (expanded, k = 2)");
        fits = ovp_copy_string(instrument->uncertainty, sizeof instrument->uncertainty, value);
    } else {
        return refuse(error, "part of an instrument", field,
                      "\"bench calibrator; certificate 1234; due 2027-03-01; U 0.5C\"");
    }
    return fits ? OVP_OK
                : refuse(error, "part of an instrument: it is too long", field, "\"certificate 1234\"");
}

ovp_status store_instrument_read(ovp_span text, store_instrument *instrument, ovp_error *error)
{
    store_instrument read = {0};
    ovp_span rest = text, field;
    if (!take_until(&rest, ';', &field) || field.count == 0)
        return refuse(error, "instrument: its name is missing", text,
                      "\"bench calibrator; certificate 1234; due 2027-03-01; U 0.5C\"");
    if (!ovp_copy_string(read.name, sizeof read.name, field))
        return refuse(error, "name of an instrument: it is too long", field, "\"bench calibrator\"");
    while (take_until(&rest, ';', &field)) {
        if (field.count == 0)
            continue;
        ovp_status status = take_field(field, &read, error);
        if (status != OVP_OK)
            return status;
    }
    *instrument = read;
    return OVP_OK;
}

static ovp_status set_tools(store_settings *settings, ovp_span value, ovp_error *error)
{
    char tools[STORE_TOOLS][STORE_TOOL_SIZE];
    size_t count = 0;
    ovp_span rest = value, word;
    while (take_until(&rest, ',', &word)) {
        if (word.count == 0 || ovp_span_equals(word, "none"))
            continue;
        if (count == STORE_TOOLS)
            return ovp_error_set(error, OVP_ERROR_DATA, "more than %d tools", STORE_TOOLS);
        if (!ovp_copy_string(tools[count++], STORE_TOOL_SIZE, word))
            return refuse(error, "tool: the word is too long", word, "multimeter, clamp-meter");
    }
    settings->tools_known = value.count > 0;
    settings->tool_count = count;
    memcpy(settings->tools, tools, count * sizeof tools[0]);
    return OVP_OK;
}

static ovp_status set_degrees(store_settings *settings, ovp_span value, ovp_error *error)
{
    ovp_text_degrees degrees = OVP_TEXT_DEGREES_NONE;
    if (value.count > 0 && !ovp_text_degrees_named(value, &degrees))
        return refuse(error, "temperature scale", value, "F, C or K");
    settings->degrees = degrees;
    return OVP_OK;
}

static ovp_status add_instrument(store_settings *settings, ovp_span value, ovp_error *error)
{
    if (value.count == 0) {
        settings->instrument_count = 0;
        return OVP_OK;
    }
    if (settings->instrument_count == STORE_INSTRUMENTS)
        return ovp_error_set(error, OVP_ERROR_DATA, "more than %d instruments", STORE_INSTRUMENTS);
    ovp_status status =
        store_instrument_read(value, &settings->instruments[settings->instrument_count], error);
    settings->instrument_count += status == OVP_OK;
    return status;
}

ovp_status store_settings_set(store_settings *settings, const char *key, ovp_span value, ovp_error *error)
{
    value = ovp_span_trim(value);
    if (!is_clean(value))
        return ovp_error_set(error, OVP_ERROR_DATA, "%s holds control characters", key);
    if (strcmp(key, "degrees") == 0)
        return set_degrees(settings, value, error);
    if (strcmp(key, "tools") == 0)
        return set_tools(settings, value, error);
    if (strcmp(key, "instrument") == 0)
        return add_instrument(settings, value, error);
    bool is_colours = strcmp(key, "colours") == 0;
    char *to = is_colours ? settings->colours : settings->contact;
    size_t size = is_colours ? sizeof settings->colours : sizeof settings->contact;
    if (value.count >= size)
        return ovp_error_set(error, OVP_ERROR_DATA, "%s is longer than %d bytes", key, (int)size - 1);
    ovp_copy_string(to, size, value);
    return OVP_OK;
}

size_t store_settings_tools(const store_settings *settings, const char *separator, char *buffer, size_t size)
{
    size_t length = 0;
    if (size > 0)
        buffer[0] = '\0';
    for (size_t i = 0; i < settings->tool_count && size > 0; i++) {
        const char *pieces[] = {i > 0 ? separator : "", settings->tools[i]};
        for (size_t piece = 0; piece < 2; piece++) {
            ovp_copy_string(buffer + length, size - length, ovp_span_of(pieces[piece]));
            length += strlen(buffer + length);
        }
    }
    return length;
}

/* ---- the file ---------------------------------------------------------------------------------------- */

ovp_status store_settings_path(char *path, size_t size, ovp_error *error)
{
    const char *config = getenv("XDG_CONFIG_HOME");
    const char *home = getenv("HOME");
    int length;
    if (config != NULL && config[0] == '/') /* a relative one is to be passed over: XDG base directories */
        length = snprintf(path, size, "%s/ovenproof/settings", config);
    else if (home != NULL && home[0] != '\0')
        length = snprintf(path, size, "%s/.config/ovenproof/settings", home);
    else
        length = -1;
    if (length >= 0 && (size_t)length < size)
        return OVP_OK;
    ovp_status status = ovp_error_set(error, OVP_ERROR_SYSTEM, "no place for the settings");
    ovp_error_hint(error, "set HOME or XDG_CONFIG_HOME to a folder of yours");
    return status;
}

/* Reads the whole file; *count is 0 when there is none. */
static ovp_status read_file(const char *path, char *bytes, size_t size, size_t *count, ovp_error *error)
{
    *count = 0;
    int descriptor = open(path, O_RDONLY | O_CLOEXEC);
    if (descriptor < 0 && (errno == ENOENT || errno == ENOTDIR))
        return OVP_OK;
    size_t held = 0;
    ssize_t got = descriptor < 0 ? -1 : 1;
    while (got > 0 && held < size) {
        got = read(descriptor, bytes + held, size - held);
        if (got > 0)
            held += (size_t)got;
        else if (got < 0 && errno == EINTR)
            got = 1;
    }
    int failure = errno;
    if (descriptor >= 0)
        close(descriptor);
    ovp_status status = OVP_OK;
    if (got < 0)
        status = ovp_error_set(error, OVP_ERROR_SYSTEM, "cannot read the settings: %s", strerror(failure));
    else if (held == size)
        status =
            ovp_error_set(error, OVP_ERROR_DATA, "these settings are longer than %d bytes", SETTINGS_BYTES);
    ovp_error_place(error, status == OVP_OK ? NULL : path, 0);
    *count = held;
    return status;
}

/* The key of a line that this version knows; NULL for comments, blanks and keys of others. */
static const char *key_of(ovp_span line, ovp_span *value)
{
    const char *equals = line.count == 0 ? NULL : memchr(line.bytes, '=', line.count);
    if (equals == NULL)
        return NULL;
    ovp_span word = ovp_span_trim((ovp_span){line.bytes, (size_t)(equals - line.bytes)});
    *value = ovp_span_trim((ovp_span){equals + 1, line.count - (size_t)(equals - line.bytes) - 1});
    for (size_t i = 0; i < KEYS; i++)
        if (ovp_span_equals(word, keys[i]))
            return keys[i];
    return NULL;
}

ovp_status store_settings_read(store_settings *settings, ovp_span text, const char *name, ovp_error *error)
{
    ovp_span line, value;
    ovp_status first = OVP_OK;
    for (uint64_t number = 1; take_until(&text, '\n', &line); number++) {
        ovp_error *say = first == OVP_OK ? error : NULL;
        const char *key = key_of(line, &value);
        bool is_comment = line.count == 0 || line.bytes[0] == '#';
        ovp_status status = OVP_OK;
        if (!is_comment && memchr(line.bytes, '=', line.count) == NULL) {
            status = ovp_error_set(say, OVP_ERROR_DATA, "this line is no \"key = value\"");
            ovp_error_hint(say, "mend the line, or let `ovenproof setup` write the settings anew");
        } else if (!is_comment && key != NULL) {
            status = store_settings_set(settings, key, value, say);
        }
        if (status != OVP_OK && first == OVP_OK) {
            ovp_error_place(error, name, number);
            first = status;
        }
    }
    return first;
}

ovp_status store_settings_load(store_settings *settings, ovp_error *error)
{
    char path[STORE_PATH_SIZE], bytes[SETTINGS_BYTES];
    size_t count;
    *settings = (store_settings){0};
    if (store_settings_path(path, sizeof path, NULL) != OVP_OK)
        return OVP_OK; /* no home: nothing was ever set */
    ovp_status status = read_file(path, bytes, sizeof bytes, &count, error);
    return status == OVP_OK ? store_settings_read(settings, (ovp_span){bytes, count}, path, error) : status;
}

static void write_instruments(const store_settings *settings, ovp_sink sink)
{
    for (size_t i = 0; i < settings->instrument_count; i++) {
        const store_instrument *one = &settings->instruments[i];
        ovp_text_print(sink, "instrument = %s", one->name);
        if (one->certificate[0] != '\0')
            ovp_text_print(sink, "; certificate %s", one->certificate);
        if (one->due[0] != '\0')
            ovp_text_print(sink, "; due %s", one->due);
        if (one->uncertainty[0] != '\0')
            ovp_text_print(sink, "; U %s", one->uncertainty);
        ovp_text_print(sink, "\n");
    }
}

static void write_key(const store_settings *settings, const char *key, ovp_sink sink)
{
    static const char *const degrees[] = {"", "F", "C", "K"};
    char tools[STORE_TOOLS * (STORE_TOOL_SIZE + 2)];
    const char *value = settings->contact;
    if (strcmp(key, "instrument") == 0) {
        write_instruments(settings, sink);
        return;
    }
    if (strcmp(key, "degrees") == 0)
        value = degrees[settings->degrees];
    if (strcmp(key, "colours") == 0)
        value = settings->colours;
    if (strcmp(key, "tools") == 0) {
        store_settings_tools(settings, ", ", tools, sizeof tools);
        value = settings->tools_known && settings->tool_count == 0 ? "none" : tools;
    }
    if (value[0] != '\0')
        ovp_text_print(sink, "%s = %s\n", key, value);
}

/* Known keys are written where they stood first; all else stays as it was; new ones come last. */
void store_settings_write(const store_settings *settings, ovp_span old, ovp_sink sink)
{
    bool written[KEYS] = {false};
    ovp_span line, value;
    bool is_new = old.count == 0;
    if (is_new)
        ovp_text_print(sink, "# Settings of ovenproof. `ovenproof setup` writes them; you may edit them.\n");
    if (old.count > 0 && old.bytes[old.count - 1] == '\n')
        old.count--;
    while (!is_new && take_until(&old, '\n', &line)) {
        const char *key = line.count > 0 && line.bytes[0] != '#' ? key_of(line, &value) : NULL;
        if (key == NULL) {
            bool is_wrong =
                line.count > 0 && line.bytes[0] != '#' && memchr(line.bytes, '=', line.count) == NULL;
            if (is_wrong)
                ovp_text_print(sink, "# not understood: ");
            sink.write(sink.context, line.bytes, line.count);
            sink.write(sink.context, "\n", 1);
            continue;
        }
        for (size_t i = 0; i < KEYS; i++) {
            if (keys[i] != key || written[i])
                continue;
            write_key(settings, key, sink);
            written[i] = true;
        }
    }
    for (size_t i = 0; i < KEYS; i++)
        if (!written[i])
            write_key(settings, keys[i], sink);
}

ovp_status store_settings_save(const store_settings *settings, ovp_error *error)
{
    char path[STORE_PATH_SIZE], folder[STORE_PATH_SIZE], old[SETTINGS_BYTES];
    size_t count;
    ovp_status status = store_settings_path(path, sizeof path, error);
    if (status == OVP_OK)
        status = read_file(path, old, sizeof old, &count, error);
    if (status != OVP_OK)
        return status;
    ovp_copy_string(folder, sizeof folder, ovp_span_of(path));
    status = store_make_folder(dirname(folder), error);
    if (status != OVP_OK)
        return status;
    store_file *file = malloc(sizeof *file);
    if (file == NULL)
        return ovp_error_set(error, OVP_ERROR_MEMORY, "out of memory");
    status = store_file_begin(file, path, error);
    if (status == OVP_OK) {
        store_settings_write(settings, (ovp_span){old, count}, store_file_sink(file));
        status = store_file_commit(file, error);
    }
    free(file);
    return status;
}
