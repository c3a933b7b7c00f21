/*
 * The gate of the data reader. Lua itself reads the values; this walk only lets pass what is data, and notes
 * on which line each leaf stands, so that a wrong figure is named by its line.
 *
 *   chunk = [BOM] "return" table [";"]
 *   table = "{" { entry ("," | ";") } "}"
 *   entry = [ NAME "=" | "[" (string | number) "]" "=" ] value
 *   value = string | ["-"] number | "true" | "false" | "nil" | table
 */
#include "lua/lua_internal.h"

#include <string.h>

enum {
    SCAN_DEPTH = 16,
    SCAN_PATH_SIZE = 512,
};

typedef enum token_kind {
    TOKEN_END,
    TOKEN_NAME,   /* a word, keyword or not */
    TOKEN_STRING, /* text: what is between the quotes */
    TOKEN_NUMBER,
    TOKEN_MARK, /* one byte */
} token_kind;

typedef struct token {
    token_kind kind;
    ovp_span text;
    bool plain; /* a string without escapes */
    uint64_t line;
} token;

typedef struct scan {
    const char *at, *end;
    uint64_t line;
    token next;
    data_lines *lines;
    ovp_error *error;
    int depth;
    char path[SCAN_PATH_SIZE];
} scan;

uint64_t data_hash(const char *path)
{
    return ovp_digest(OVP_DIGEST_BEGIN, ovp_span_of(path));
}

uint64_t data_line_of(const data_lines *lines, const char *path)
{
    uint64_t hash = data_hash(path);
    for (size_t i = lines->count; i-- > 0;) /* the last of equal keys wins, as in Lua */
        if (lines->rows[i].path_hash == hash)
            return lines->rows[i].line;
    return 0;
}

static ovp_status refuse(scan *s, uint64_t line, const char *what, ovp_span text)
{
    ovp_error_set(s->error, OVP_ERROR_DATA, "%s%s%.*s%s", what, text.count > 0 ? " '" : "",
                  (int)(text.count < 40 ? text.count : 40), text.count > 0 ? text.bytes : "",
                  text.count > 0 ? "'" : "");
    ovp_error_place(s->error, NULL, line);
    ovp_error_hint(s->error, "such a file is data: return { name = \"...\", supply = { volts = \"240V\" } }");
    return OVP_ERROR_DATA;
}

/* ---- tokens --------------------------------------------------------------------------------------- */

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_';
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* Count of '=' of a long bracket "[==[" at s->at, or -1. */
static int long_bracket(const scan *s)
{
    const char *at = s->at;
    if (at >= s->end || *at != '[')
        return -1;
    int level = 0;
    for (at++; at < s->end && *at == '='; at++)
        level++;
    return at < s->end && *at == '[' ? level : -1;
}

/* From "[==[" to past "]==]"; false at the end of the text. */
static bool skip_long(scan *s, int level)
{
    for (s->at += level + 2; s->at < s->end; s->at++) {
        if (*s->at == '\n')
            s->line++;
        if (*s->at != ']')
            continue;
        const char *at = s->at + 1;
        int count = 0;
        for (; at < s->end && *at == '='; at++)
            count++;
        if (count == level && at < s->end && *at == ']') {
            s->at = at + 1;
            return true;
        }
    }
    return false;
}

static ovp_status skip_blanks(scan *s)
{
    while (s->at < s->end) {
        char c = *s->at;
        if (c == '\n')
            s->line++;
        if (c == ' ' || c == '\t' || c == '\r' || c == '\n' || c == '\v' || c == '\f') {
            s->at++;
            continue;
        }
        if (c != '-' || s->end - s->at < 2 || s->at[1] != '-')
            return OVP_OK;
        uint64_t line = s->line;
        s->at += 2;
        int level = long_bracket(s);
        if (level >= 0 && !skip_long(s, level))
            return refuse(s, line, "a comment does not end", (ovp_span){0});
        while (level < 0 && s->at < s->end && *s->at != '\n')
            s->at++;
    }
    return OVP_OK;
}

static ovp_status scan_string(scan *s)
{
    char quote = *s->at++;
    const char *from = s->at;
    while (s->at < s->end && *s->at != quote && *s->at != '\n') {
        if (*s->at == '\\') {
            s->next.plain = false;
            s->at++;
            if (s->at < s->end && *s->at == 'z') /* skips line ends: not needed in data, and hides lines */
                return refuse(s, s->line, "a string with \\z", (ovp_span){0});
            if (s->at < s->end && (*s->at == '\n' || *s->at == '\r'))
                return refuse(s, s->line, "a string over several lines", (ovp_span){0});
        }
        if (s->at < s->end)
            s->at++;
    }
    if (s->at >= s->end || *s->at != quote)
        return refuse(s, s->next.line, "a string does not end", (ovp_span){0});
    s->next.text = (ovp_span){from, (size_t)(s->at - from)};
    s->at++;
    return OVP_OK;
}

static ovp_status advance(scan *s)
{
    ovp_status status = skip_blanks(s);
    if (status != OVP_OK)
        return status;
    s->next = (token){.kind = TOKEN_END, .line = s->line, .plain = true};
    if (s->at >= s->end)
        return OVP_OK;
    const char *from = s->at;
    char c = *from;
    int level = long_bracket(s);
    if (c == '"' || c == '\'') {
        s->next.kind = TOKEN_STRING;
        return scan_string(s);
    }
    if (level >= 0) {
        s->next.kind = TOKEN_STRING;
        s->next.plain = false;
        return skip_long(s, level) ? OVP_OK : refuse(s, s->next.line, "a string does not end", (ovp_span){0});
    }
    if (is_letter(c)) {
        s->next.kind = TOKEN_NAME;
        while (s->at < s->end && (is_letter(*s->at) || is_digit(*s->at)))
            s->at++;
    } else if (is_digit(c) || (c == '.' && s->end - s->at > 1 && is_digit(s->at[1]))) {
        s->next.kind = TOKEN_NUMBER;
        while (s->at < s->end &&
               (is_letter(*s->at) || is_digit(*s->at) || *s->at == '.' ||
                ((*s->at == '+' || *s->at == '-') && (s->at[-1] == 'e' || s->at[-1] == 'E'))))
            s->at++;
    } else {
        s->next.kind = TOKEN_MARK; /* with the rest of a UTF-8 letter, so that a message shows it whole */
        for (s->at++; s->at < s->end && ((unsigned char)*s->at & 0xC0) == 0x80;)
            s->at++;
    }
    s->next.text = (ovp_span){from, (size_t)(s->at - from)};
    return OVP_OK;
}

static bool is_mark(const scan *s, char mark)
{
    return s->next.kind == TOKEN_MARK && s->next.text.bytes[0] == mark;
}

static bool is_word(const scan *s, const char *word)
{
    return s->next.kind == TOKEN_NAME && s->next.text.count == strlen(word) &&
           memcmp(s->next.text.bytes, word, s->next.text.count) == 0;
}

static ovp_status unexpected(scan *s, const char *wanted)
{
    if (s->next.kind == TOKEN_END) {
        ovp_status status = refuse(s, s->next.line, "the file ends too early", (ovp_span){0});
        return status;
    }
    char what[96] = "";
    bool acts = s->next.kind == TOKEN_NAME;
    ovp_copy_string(what, sizeof what, ovp_span_of(acts ? "a data file may not hold" : wanted));
    return refuse(s, s->next.line, what, s->next.text);
}

/* ---- the grammar ---------------------------------------------------------------------------------- */

static ovp_status scan_table(scan *s);

static void note_line(scan *s, uint64_t line)
{
    if (s->lines->count < s->lines->room)
        s->lines->rows[s->lines->count++] = (data_line){data_hash(s->path), line};
}

static ovp_status scan_value(scan *s)
{
    if (is_mark(s, '{'))
        return scan_table(s);
    note_line(s, s->next.line);
    if (is_mark(s, '-')) {
        ovp_status status = advance(s);
        if (status != OVP_OK)
            return status;
        if (s->next.kind != TOKEN_NUMBER)
            return unexpected(s, "a number must follow '-', not");
        return advance(s);
    }
    bool word = is_word(s, "true") || is_word(s, "false") || is_word(s, "nil");
    if (!word && s->next.kind != TOKEN_STRING && s->next.kind != TOKEN_NUMBER)
        return unexpected(s, "a value is wanted, not");
    return advance(s);
}

/* Append ".name", "name" at the top, or "[3]"; a key that does not fit leaves the path as it is. */
static void push_key(scan *s, ovp_span key)
{
    size_t used = strlen(s->path);
    if (used + key.count + 2 > sizeof s->path)
        return;
    if (used > 0)
        s->path[used++] = '.';
    memcpy(s->path + used, key.bytes, key.count);
    s->path[used + key.count] = '\0';
}

static void push_index(scan *s, uint64_t index)
{
    char digits[24];
    size_t at = sizeof digits, used = strlen(s->path);
    digits[--at] = ']';
    for (; index > 0; index /= 10)
        digits[--at] = (char)('0' + index % 10);
    digits[--at] = '[';
    size_t count = sizeof digits - at;
    if (used + count + 1 > sizeof s->path)
        return;
    memcpy(s->path + used, digits + at, count);
    s->path[used + count] = '\0';
}

static ovp_status wanted_mark(scan *s, char mark, const char *wanted)
{
    if (!is_mark(s, mark))
        return unexpected(s, wanted);
    return advance(s);
}

/* "[3] =" or '["name"] =' after the bracket. */
static ovp_status scan_bracket_key(scan *s)
{
    token key = s->next;
    if (key.kind != TOKEN_STRING && key.kind != TOKEN_NUMBER)
        return unexpected(s, "a key is wanted, not");
    double number;
    if (key.kind == TOKEN_STRING && key.plain)
        push_key(s, key.text);
    else if (key.kind == TOKEN_NUMBER && ovp_text_number(key.text, &number) && number >= 1.0 && number < 1e15)
        push_index(s, (uint64_t)number);
    ovp_status status = advance(s);
    if (status == OVP_OK)
        status = wanted_mark(s, ']', "']' is wanted, not");
    if (status == OVP_OK)
        status = wanted_mark(s, '=', "'=' is wanted, not");
    return status;
}

static bool is_constant(const scan *s)
{
    return is_word(s, "true") || is_word(s, "false") || is_word(s, "nil");
}

static ovp_status scan_entry(scan *s, uint64_t *positional)
{
    ovp_status status = OVP_OK;
    if (s->next.kind == TOKEN_NAME && !is_constant(s)) {
        token name = s->next;
        status = advance(s);
        if (status != OVP_OK)
            return status;
        if (!is_mark(s, '=')) /* a name that is read, or called */
            return refuse(s, name.line, "a data file may not hold", name.text);
        push_key(s, name.text);
        status = advance(s);
    } else if (is_mark(s, '[')) {
        status = advance(s);
        if (status == OVP_OK)
            status = scan_bracket_key(s);
    } else {
        push_index(s, ++*positional);
    }
    return status == OVP_OK ? scan_value(s) : status;
}

static ovp_status scan_table(scan *s)
{
    if (++s->depth > SCAN_DEPTH)
        return refuse(s, s->next.line, "tables lie more than 16 deep", (ovp_span){0});
    note_line(s, s->next.line);
    ovp_status status = advance(s);
    uint64_t positional = 0;
    size_t used = strlen(s->path);
    while (status == OVP_OK && !is_mark(s, '}')) {
        status = scan_entry(s, &positional);
        s->path[used] = '\0';
        if (status != OVP_OK || is_mark(s, '}'))
            break;
        if (!is_mark(s, ',') && !is_mark(s, ';'))
            return unexpected(s, "',' or '}' is wanted, not");
        status = advance(s);
    }
    s->depth--;
    return status == OVP_OK ? advance(s) : status;
}

ovp_status data_scan(const char *bytes, size_t count, data_lines *lines, ovp_error *error)
{
    scan s = {.at = bytes, .end = bytes + count, .line = 1, .lines = lines, .error = error};
    if (count > 0 && memchr(bytes, 0, count) != NULL)
        return refuse(&s, 0, "this is not a text file: it holds zero bytes", (ovp_span){0});
    if (count >= 3 && memcmp(bytes, "\xEF\xBB\xBF", 3) == 0)
        s.at += 3;
    ovp_status status = advance(&s);
    if (status != OVP_OK)
        return status;
    if (s.next.kind == TOKEN_END)
        return refuse(&s, 1, "the file is empty", (ovp_span){0});
    if (!is_word(&s, "return"))
        return unexpected(&s, "'return {' is wanted, not");
    status = advance(&s);
    if (status == OVP_OK && !is_mark(&s, '{'))
        return unexpected(&s, "'{' is wanted after 'return', not");
    if (status == OVP_OK)
        status = scan_table(&s);
    if (status == OVP_OK && is_mark(&s, ';'))
        status = advance(&s);
    if (status == OVP_OK && s.next.kind != TOKEN_END)
        return unexpected(&s, "nothing may follow the table, not");
    return status;
}
