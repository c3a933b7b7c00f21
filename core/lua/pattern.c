/*
 * Lua's patterns with a meter running. The library that comes with Lua may work on one match for minutes, and
 * no hook fires meanwhile; here every step is counted and the clock is looked at in between. A pattern is
 * first taken apart into items (a set of bytes each), then matched by backtracking.
 */
#include "lua/lua_internal.h"

#include <ctype.h>
#include <string.h>

enum {
    PATTERN_DEPTH = 200,
    PATTERN_BYTES = 65536,
    PATTERN_STEPS = 8192, /* between two looks at the clock */
};

/* ---- taking a pattern apart ------------------------------------------------------------------------- */

typedef struct compiler {
    lua_State *L;
    const char *at, *end;
} compiler;

static void add_byte(pattern_item *it, unsigned char byte)
{
    it->set[byte >> 5] |= UINT32_C(1) << (byte & 31);
}

static bool holds(const pattern_item *it, char c)
{
    unsigned char byte = (unsigned char)c;
    return (it->set[byte >> 5] >> (byte & 31) & 1) != 0;
}

static void complement(pattern_item *it)
{
    for (int i = 0; i < 8; i++)
        it->set[i] = ~it->set[i];
}

static int is_zero(int byte)
{
    return byte == 0;
}

/* The classes by their letter; z is of older Lua and still taken. */
static const struct class_row {
    char letter;
    int (*holds)(int byte);
} classes[] = {
    {'a', isalpha}, {'c', iscntrl}, {'d', isdigit}, {'g', isgraph},  {'l', islower}, {'p', ispunct},
    {'s', isspace}, {'u', isupper}, {'w', isalnum}, {'x', isxdigit}, {'z', is_zero},
};

static const struct class_row *class_of(int letter)
{
    for (size_t i = 0; i < sizeof classes / sizeof classes[0]; i++)
        if (classes[i].letter == letter)
            return &classes[i];
    return NULL;
}

/* The byte behind '%': a class, its opposite as a capital, or the byte itself. */
static void add_escaped(pattern_item *it, char escaped)
{
    int letter = (unsigned char)escaped;
    const struct class_row *row = class_of(tolower(letter));
    if (row == NULL) {
        add_byte(it, (unsigned char)letter);
        return;
    }
    bool opposite = isupper(letter) != 0;
    for (int byte = 0; byte < 256; byte++)
        if ((row->holds(byte) != 0) != opposite)
            add_byte(it, (unsigned char)byte);
}

/* Where the ']' of a set stands; `at` is behind the '[' and a '^'. */
static const char *end_of_set(const compiler *c, const char *at)
{
    do {
        if (at >= c->end)
            break;
        if (*at++ == '%' && at < c->end)
            at++;
    } while (at >= c->end || *at != ']');
    if (at >= c->end)
        luaL_error(c->L, "malformed pattern (missing ']')");
    return at;
}

static void compile_set(compiler *c, pattern_item *it)
{
    bool opposite = c->at < c->end && *c->at == '^';
    if (opposite)
        c->at++;
    const char *close = end_of_set(c, c->at);
    for (; c->at < close; c->at++) {
        if (*c->at == '%') {
            c->at++;
            add_escaped(it, *c->at);
        } else if (c->at + 2 < close && c->at[1] == '-') {
            for (int byte = (unsigned char)c->at[0]; byte <= (unsigned char)c->at[2]; byte++)
                add_byte(it, (unsigned char)byte);
            c->at += 2;
        } else {
            add_byte(it, (unsigned char)*c->at);
        }
    }
    if (opposite)
        complement(it);
    c->at = close + 1;
}

/* True when '%' began something that is no set of bytes. */
static bool compile_special(compiler *c, pattern_item *it)
{
    if (c->at + 1 >= c->end)
        return luaL_error(c->L, "malformed pattern (ends with '%%')") != 0;
    char letter = c->at[1];
    if (letter == 'b') {
        if (c->at + 3 >= c->end)
            luaL_error(c->L, "malformed pattern (missing arguments to '%%b')");
        *it = (pattern_item){.kind = ITEM_BALANCE, .first = c->at[2], .last = c->at[3]};
        c->at += 4;
        return true;
    }
    if (letter == 'f') {
        c->at += 2;
        if (c->at >= c->end || *c->at != '[')
            luaL_error(c->L, "missing '[' after '%%f' in pattern");
        c->at++;
        it->kind = ITEM_FRONTIER;
        compile_set(c, it);
        return true;
    }
    if (letter >= '0' && letter <= '9') {
        *it = (pattern_item){.kind = ITEM_BACK, .number = letter - '1'};
        c->at += 2;
        return true;
    }
    return false;
}

static void compile_single(compiler *c, pattern_item *it)
{
    char byte = *c->at++;
    if (byte == '%')
        add_escaped(it, *c->at++);
    else if (byte == '[')
        compile_set(c, it);
    else if (byte == '.')
        complement(it);
    else
        add_byte(it, (unsigned char)byte);
    if (c->at < c->end && *c->at != '\0' && strchr("*+-?", *c->at) != NULL)
        it->repeat = *c->at++;
}

static void compile_item(compiler *c, pattern_item *it)
{
    *it = (pattern_item){.kind = ITEM_SET};
    if (*c->at == '(') {
        bool position = c->at + 1 < c->end && c->at[1] == ')';
        it->kind = position ? ITEM_OPEN_POSITION : ITEM_OPEN;
        c->at += position ? 2 : 1;
    } else if (*c->at == ')') {
        it->kind = ITEM_CLOSE;
        c->at++;
    } else if (*c->at == '$' && c->at + 1 == c->end) {
        it->kind = ITEM_END;
        c->at++;
    } else if (*c->at != '%' || !compile_special(c, it)) {
        compile_single(c, it);
    }
}

/* Leaves the items as a userdata on the stack. */
const pattern_item *pattern_compile(lua_State *L, const char *pattern, size_t length)
{
    if (length > PATTERN_BYTES)
        luaL_error(L, "pattern too long");
    pattern_item *items = lua_newuserdatauv(L, (length + 1) * sizeof *items, 0);
    compiler c = {L, pattern, pattern + length};
    size_t count = 0;
    while (c.at < c.end)
        compile_item(&c, &items[count++]);
    items[count] = (pattern_item){.kind = ITEM_DONE};
    return items;
}

/* ---- matching ----------------------------------------------------------------------------------------- */

void pattern_charge(pattern_matcher *m, size_t steps)
{
    m->steps += steps;
    if (m->steps < PATTERN_STEPS)
        return;
    m->steps = 0;
    sandbox_check(m->L);
}

static const char *match(pattern_matcher *m, const pattern_item *it, const char *at);

/* A choice that can be taken back: one level deeper. */
static const char *try_match(pattern_matcher *m, const pattern_item *it, const char *at)
{
    if (++m->depth > PATTERN_DEPTH)
        luaL_error(m->L, "pattern too complex");
    const char *end = match(m, it, at);
    m->depth--;
    return end;
}

static const char *match_greedy(pattern_matcher *m, const pattern_item *it, const char *at)
{
    size_t count = 0, least = it->repeat == '+';
    while (at + count < m->end && holds(it, at[count]))
        count++;
    pattern_charge(m, count / 8);
    for (; count + 1 > least; count--) {
        const char *end = try_match(m, it + 1, at + count);
        if (end != NULL || count == 0)
            return end;
    }
    return NULL;
}

static const char *match_lazy(pattern_matcher *m, const pattern_item *it, const char *at)
{
    for (;; at++) {
        const char *end = try_match(m, it + 1, at);
        if (end != NULL)
            return end;
        if (at >= m->end || !holds(it, *at))
            return NULL;
    }
}

static const char *match_open(pattern_matcher *m, const pattern_item *it, const char *at)
{
    if (m->level >= PATTERN_CAPTURES)
        luaL_error(m->L, "too many captures");
    m->captures[m->level] = (pattern_capture){at, it->kind == ITEM_OPEN ? CAPTURE_OPEN : CAPTURE_POSITION};
    m->level++;
    const char *end = try_match(m, it + 1, at);
    if (end == NULL)
        m->level--;
    return end;
}

static const char *match_close(pattern_matcher *m, const pattern_item *it, const char *at)
{
    int level = m->level - 1;
    while (level >= 0 && m->captures[level].length != CAPTURE_OPEN)
        level--;
    if (level < 0)
        luaL_error(m->L, "invalid pattern capture");
    m->captures[level].length = at - m->captures[level].start;
    const char *end = try_match(m, it + 1, at);
    if (end == NULL)
        m->captures[level].length = CAPTURE_OPEN;
    return end;
}

static const char *match_back(pattern_matcher *m, const pattern_item *it, const char *at)
{
    if (it->number < 0 || it->number >= m->level || m->captures[it->number].length == CAPTURE_OPEN)
        luaL_error(m->L, "invalid capture index %%%d", it->number + 1);
    const pattern_capture *old = &m->captures[it->number];
    size_t length = old->length > 0 ? (size_t)old->length : 0;
    pattern_charge(m, length / 8);
    if (old->length == CAPTURE_POSITION || (size_t)(m->end - at) < length ||
        memcmp(old->start, at, length) != 0)
        return NULL;
    return at + length;
}

static const char *match_balance(pattern_matcher *m, const pattern_item *it, const char *at)
{
    if (at >= m->end || *at != it->first)
        return NULL;
    size_t open = 1;
    for (const char *next = at + 1; next < m->end; next++) {
        pattern_charge(m, 1);
        if (*next == it->last) {
            if (--open == 0)
                return next + 1;
        } else if (*next == it->first) {
            open++;
        }
    }
    return NULL;
}

static bool at_frontier(const pattern_matcher *m, const pattern_item *it, const char *at)
{
    const char before = (char)(at == m->source ? '\0' : at[-1]);
    const char behind = (char)(at == m->end ? '\0' : *at);
    return !holds(it, before) && holds(it, behind);
}

/* A single set of bytes; moves `at`. *decided when the rest has been tried too. */
static const char *match_set(pattern_matcher *m, const pattern_item *it, const char *at, bool *decided)
{
    bool here = at < m->end && holds(it, *at);
    *decided = true;
    if (it->repeat == '*' || it->repeat == '+')
        return match_greedy(m, it, at);
    if (it->repeat == '-')
        return match_lazy(m, it, at);
    if (it->repeat == '?' && here) {
        const char *end = try_match(m, it + 1, at + 1);
        if (end != NULL)
            return end;
    }
    *decided = false;
    if (it->repeat == '?')
        return at;
    return here ? at + 1 : NULL;
}

static const char *match(pattern_matcher *m, const pattern_item *it, const char *at)
{
    for (; at != NULL; it++) {
        bool decided = false;
        pattern_charge(m, 1);
        switch (it->kind) {
        case ITEM_SET:
            at = match_set(m, it, at, &decided);
            if (decided)
                return at;
            break;
        case ITEM_OPEN:
        case ITEM_OPEN_POSITION:
            return match_open(m, it, at);
        case ITEM_CLOSE:
            return match_close(m, it, at);
        case ITEM_BACK:
            at = match_back(m, it, at);
            break;
        case ITEM_BALANCE:
            at = match_balance(m, it, at);
            break;
        case ITEM_FRONTIER:
            at = at_frontier(m, it, at) ? at : NULL;
            break;
        case ITEM_END:
            return at == m->end ? at : NULL;
        case ITEM_DONE:
            return at;
        }
    }
    return NULL;
}

const char *pattern_match_at(pattern_matcher *m, const char *at)
{
    m->level = 0;
    m->depth = 0;
    return match(m, m->items, at);
}
