/*
 * Lua's patterns with a meter running. The library that comes with Lua may work on one match for minutes, and
 * no hook fires meanwhile; here every step is counted and the clock is looked at in between. A pattern is
 * first taken apart into items (a set of bytes each), then matched by backtracking.
 */
#include "lua/lua_internal.h"

#include <ctype.h>
#include <string.h>

enum {
    PATTERN_CAPTURES = 32,
    PATTERN_DEPTH = 200,
    PATTERN_BYTES = 65536,
    PATTERN_STEPS = 8192, /* between two looks at the clock */
    CAPTURE_OPEN = -1,
    CAPTURE_POSITION = -2,
};

typedef enum item_kind {
    ITEM_SET,
    ITEM_OPEN,
    ITEM_OPEN_POSITION,
    ITEM_CLOSE,
    ITEM_BACK,     /* %1 */
    ITEM_BALANCE,  /* %bxy */
    ITEM_FRONTIER, /* %f[set] */
    ITEM_END,      /* $ as the last byte */
    ITEM_DONE,
} item_kind;

typedef struct item {
    item_kind kind;
    char repeat;      /* 0, '*', '+', '-' or '?' */
    int number;       /* of a back reference, from 0 */
    char first, last; /* of a balance */
    uint32_t set[8];
} item;

typedef struct capture {
    const char *start;
    ptrdiff_t length;
} capture;

typedef struct matcher {
    lua_State *L;
    const char *source, *end;
    const item *items;
    int level, depth;
    size_t steps;
    capture captures[PATTERN_CAPTURES];
} matcher;

/* ---- taking a pattern apart ------------------------------------------------------------------------- */

typedef struct compiler {
    lua_State *L;
    const char *at, *end;
} compiler;

static void add_byte(item *it, unsigned char byte)
{
    it->set[byte >> 5] |= UINT32_C(1) << (byte & 31);
}

static bool holds(const item *it, char c)
{
    unsigned char byte = (unsigned char)c;
    return (it->set[byte >> 5] >> (byte & 31) & 1) != 0;
}

static void complement(item *it)
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
static void add_escaped(item *it, char escaped)
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

static void compile_set(compiler *c, item *it)
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
static bool compile_special(compiler *c, item *it)
{
    if (c->at + 1 >= c->end)
        return luaL_error(c->L, "malformed pattern (ends with '%%')") != 0;
    char letter = c->at[1];
    if (letter == 'b') {
        if (c->at + 3 >= c->end)
            luaL_error(c->L, "malformed pattern (missing arguments to '%%b')");
        *it = (item){.kind = ITEM_BALANCE, .first = c->at[2], .last = c->at[3]};
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
        *it = (item){.kind = ITEM_BACK, .number = letter - '1'};
        c->at += 2;
        return true;
    }
    return false;
}

static void compile_single(compiler *c, item *it)
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

static void compile_item(compiler *c, item *it)
{
    *it = (item){.kind = ITEM_SET};
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
static const item *compile(lua_State *L, const char *pattern, size_t length)
{
    if (length > PATTERN_BYTES)
        luaL_error(L, "pattern too long");
    item *items = lua_newuserdatauv(L, (length + 1) * sizeof *items, 0);
    compiler c = {L, pattern, pattern + length};
    size_t count = 0;
    while (c.at < c.end)
        compile_item(&c, &items[count++]);
    items[count] = (item){.kind = ITEM_DONE};
    return items;
}

/* ---- matching ----------------------------------------------------------------------------------------- */

static void charge(matcher *m, size_t steps)
{
    m->steps += steps;
    if (m->steps < PATTERN_STEPS)
        return;
    m->steps = 0;
    sandbox_check(m->L);
}

static const char *match(matcher *m, const item *it, const char *at);

/* A choice that can be taken back: one level deeper. */
static const char *try_match(matcher *m, const item *it, const char *at)
{
    if (++m->depth > PATTERN_DEPTH)
        luaL_error(m->L, "pattern too complex");
    const char *end = match(m, it, at);
    m->depth--;
    return end;
}

static const char *match_greedy(matcher *m, const item *it, const char *at)
{
    size_t count = 0, least = it->repeat == '+';
    while (at + count < m->end && holds(it, at[count]))
        count++;
    charge(m, count / 8);
    for (; count + 1 > least; count--) {
        const char *end = try_match(m, it + 1, at + count);
        if (end != NULL || count == 0)
            return end;
    }
    return NULL;
}

static const char *match_lazy(matcher *m, const item *it, const char *at)
{
    for (;; at++) {
        const char *end = try_match(m, it + 1, at);
        if (end != NULL)
            return end;
        if (at >= m->end || !holds(it, *at))
            return NULL;
    }
}

static const char *match_open(matcher *m, const item *it, const char *at)
{
    if (m->level >= PATTERN_CAPTURES)
        luaL_error(m->L, "too many captures");
    m->captures[m->level] = (capture){at, it->kind == ITEM_OPEN ? CAPTURE_OPEN : CAPTURE_POSITION};
    m->level++;
    const char *end = try_match(m, it + 1, at);
    if (end == NULL)
        m->level--;
    return end;
}

static const char *match_close(matcher *m, const item *it, const char *at)
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

static const char *match_back(matcher *m, const item *it, const char *at)
{
    if (it->number < 0 || it->number >= m->level || m->captures[it->number].length == CAPTURE_OPEN)
        luaL_error(m->L, "invalid capture index %%%d", it->number + 1);
    const capture *old = &m->captures[it->number];
    size_t length = old->length > 0 ? (size_t)old->length : 0;
    charge(m, length / 8);
    if (old->length == CAPTURE_POSITION || (size_t)(m->end - at) < length ||
        memcmp(old->start, at, length) != 0)
        return NULL;
    return at + length;
}

static const char *match_balance(matcher *m, const item *it, const char *at)
{
    if (at >= m->end || *at != it->first)
        return NULL;
    size_t open = 1;
    for (const char *next = at + 1; next < m->end; next++) {
        charge(m, 1);
        if (*next == it->last) {
            if (--open == 0)
                return next + 1;
        } else if (*next == it->first) {
            open++;
        }
    }
    return NULL;
}

static bool at_frontier(const matcher *m, const item *it, const char *at)
{
    const char before = (char)(at == m->source ? '\0' : at[-1]);
    const char behind = (char)(at == m->end ? '\0' : *at);
    return !holds(it, before) && holds(it, behind);
}

/* A single set of bytes; moves `at`. *decided when the rest has been tried too. */
static const char *match_set(matcher *m, const item *it, const char *at, bool *decided)
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

static const char *match(matcher *m, const item *it, const char *at)
{
    for (; at != NULL; it++) {
        bool decided = false;
        charge(m, 1);
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

static const char *match_at(matcher *m, const char *at)
{
    m->level = 0;
    m->depth = 0;
    return match(m, m->items, at);
}

/* ---- what a match gives ---------------------------------------------------------------------------------
 */

static void push_capture(matcher *m, int index, const char *start, const char *end)
{
    if (index >= m->level) {
        if (index != 0)
            luaL_error(m->L, "invalid capture index %%%d", index + 1);
        lua_pushlstring(m->L, start, (size_t)(end - start));
        return;
    }
    const capture *one = &m->captures[index];
    if (one->length == CAPTURE_OPEN)
        luaL_error(m->L, "unfinished capture");
    if (one->length == CAPTURE_POSITION)
        lua_pushinteger(m->L, (lua_Integer)(one->start - m->source) + 1);
    else
        lua_pushlstring(m->L, one->start, (size_t)one->length);
}

/* All captures, or the whole match where there is none and `whole` says so. */
static int push_captures(matcher *m, const char *start, const char *end, bool whole)
{
    int count = m->level == 0 && whole ? 1 : m->level;
    luaL_checkstack(m->L, count, "too many captures");
    for (int i = 0; i < count; i++)
        push_capture(m, i, start, end);
    return count;
}

static void start_matcher(lua_State *L, matcher *m, int source_index)
{
    size_t length;
    m->L = L;
    m->source = luaL_checklstring(L, source_index, &length);
    m->end = m->source + length;
    m->steps = 0;
    m->level = 0;
    m->depth = 0;
    m->items = NULL;
}

/* Offset of the optional position argument; false when it lies behind the text. */
static bool initial(lua_State *L, int index, size_t length, size_t *offset)
{
    lua_Integer position = luaL_optinteger(L, index, 1);
    if (position > 0)
        *offset = (size_t)position - 1;
    else if (position == 0 || position < -(lua_Integer)length)
        *offset = 0;
    else
        *offset = length - (size_t)(-position);
    return *offset <= length;
}

static const char *find_plain(matcher *m, const char *from, const char *needle, size_t length)
{
    if (length == 0)
        return from;
    while ((size_t)(m->end - from) >= length) {
        const char *first = memchr(from, needle[0], (size_t)(m->end - from) - length + 1);
        if (first == NULL)
            return NULL;
        charge(m, 1 + length / 64 + (size_t)(first - from) / 64);
        if (memcmp(first, needle, length) == 0)
            return first;
        from = first + 1;
    }
    return NULL;
}

static bool is_plain(const char *pattern, size_t length)
{
    for (size_t i = 0; i < length; i++)
        if (pattern[i] != '\0' && strchr("^$*+?.([%-", pattern[i]) != NULL)
            return false;
    return true;
}

static int find_or_match(lua_State *L, bool find)
{
    matcher m;
    size_t length, offset;
    start_matcher(L, &m, 1);
    const char *pattern = luaL_checklstring(L, 2, &length);
    if (!initial(L, 3, (size_t)(m.end - m.source), &offset)) {
        lua_pushnil(L);
        return 1;
    }
    const char *at = m.source + offset;
    if (find && (lua_toboolean(L, 4) || is_plain(pattern, length))) {
        const char *found = find_plain(&m, at, pattern, length);
        if (found == NULL) {
            lua_pushnil(L);
            return 1;
        }
        lua_pushinteger(L, (lua_Integer)(found - m.source) + 1);
        lua_pushinteger(L, (lua_Integer)(found - m.source) + (lua_Integer)length);
        return 2;
    }
    bool anchored = length > 0 && pattern[0] == '^';
    m.items = compile(L, pattern + anchored, length - anchored);
    for (;; at++) {
        const char *end = match_at(&m, at);
        if (end != NULL && !find)
            return push_captures(&m, at, end, true);
        if (end != NULL) {
            lua_pushinteger(L, (lua_Integer)(at - m.source) + 1);
            lua_pushinteger(L, (lua_Integer)(end - m.source));
            return push_captures(&m, at, end, false) + 2;
        }
        if (anchored || at >= m.end)
            break;
    }
    lua_pushnil(L);
    return 1;
}

int pattern_find(lua_State *L)
{
    return find_or_match(L, true);
}

int pattern_match(lua_State *L)
{
    return find_or_match(L, false);
}

/* Upvalues: text, pattern, items, where to go on (from 0), end of the last match (-1: none). */
static int next_match(lua_State *L)
{
    matcher m;
    start_matcher(L, &m, lua_upvalueindex(1));
    m.items = lua_touserdata(L, lua_upvalueindex(3));
    size_t length = (size_t)(m.end - m.source);
    size_t offset = (size_t)lua_tointeger(L, lua_upvalueindex(4));
    lua_Integer last = lua_tointeger(L, lua_upvalueindex(5));
    for (; offset <= length; offset++) {
        const char *at = m.source + offset, *end = match_at(&m, at);
        if (end == NULL || end - m.source == last)
            continue;
        lua_pushinteger(L, end - m.source);
        lua_copy(L, -1, lua_upvalueindex(4));
        lua_replace(L, lua_upvalueindex(5));
        return push_captures(&m, at, end, true);
    }
    lua_pushinteger(L, (lua_Integer)length + 1);
    lua_replace(L, lua_upvalueindex(4));
    return 0;
}

int pattern_gmatch(lua_State *L)
{
    size_t source_length, length, offset;
    luaL_checklstring(L, 1, &source_length);
    const char *pattern = luaL_checklstring(L, 2, &length);
    if (!initial(L, 3, source_length, &offset))
        offset = source_length + 1;
    lua_settop(L, 2);
    compile(L, pattern, length);
    lua_pushinteger(L, (lua_Integer)offset);
    lua_pushinteger(L, -1);
    lua_pushcclosure(L, next_match, 5);
    return 1;
}

/* ---- replacing ------------------------------------------------------------------------------------------
 */

static void add_replacement_text(matcher *m, luaL_Buffer *buffer, const char *start, const char *end)
{
    lua_State *L = m->L;
    size_t length;
    const char *text = lua_tolstring(L, 3, &length);
    for (size_t i = 0; i < length; i++) {
        if (text[i] != '%') {
            luaL_addchar(buffer, text[i]);
            continue;
        }
        i++;
        if (i < length && text[i] == '%') {
            luaL_addchar(buffer, '%');
        } else if (i < length && text[i] == '0') {
            luaL_addlstring(buffer, start, (size_t)(end - start));
        } else if (i < length && text[i] >= '1' && text[i] <= '9') {
            push_capture(m, text[i] - '1', start, end);
            luaL_tolstring(L, -1, NULL);
            lua_remove(L, -2);
            luaL_addvalue(buffer);
        } else {
            luaL_error(L, "invalid use of '%%' in replacement string");
        }
    }
}

static void add_replacement(matcher *m, luaL_Buffer *buffer, const char *start, const char *end, int kind)
{
    lua_State *L = m->L;
    if (kind == LUA_TFUNCTION) {
        lua_pushvalue(L, 3);
        int count = push_captures(m, start, end, true);
        lua_call(L, count, 1);
    } else if (kind == LUA_TTABLE) {
        push_capture(m, 0, start, end);
        lua_gettable(L, 3);
    } else {
        add_replacement_text(m, buffer, start, end);
        return;
    }
    if (!lua_toboolean(L, -1)) {
        lua_pop(L, 1);
        luaL_addlstring(buffer, start, (size_t)(end - start));
    } else if (!lua_isstring(L, -1)) {
        luaL_error(L, "invalid replacement value (a %s)", luaL_typename(L, -1));
    } else {
        luaL_addvalue(buffer);
    }
}

int pattern_gsub(lua_State *L)
{
    matcher m;
    size_t length;
    start_matcher(L, &m, 1);
    const char *pattern = luaL_checklstring(L, 2, &length);
    int kind = lua_type(L, 3);
    luaL_argexpected(
        L, kind == LUA_TNUMBER || kind == LUA_TSTRING || kind == LUA_TFUNCTION || kind == LUA_TTABLE, 3,
        "string/function/table");
    lua_Integer most = luaL_optinteger(L, 4, (lua_Integer)(m.end - m.source) + 1), count = 0;
    bool anchored = length > 0 && pattern[0] == '^';
    lua_settop(L, 4);
    if (kind == LUA_TNUMBER)
        lua_tostring(L, 3);
    m.items = compile(L, pattern + anchored, length - anchored);
    luaL_Buffer buffer;
    luaL_buffinit(L, &buffer);
    const char *at = m.source, *last = NULL;
    while (count < most) {
        const char *end = match_at(&m, at);
        if (end != NULL && end != last) {
            count++;
            add_replacement(&m, &buffer, at, end, kind);
            at = last = end;
        } else if (at < m.end) {
            luaL_addchar(&buffer, *at++);
        } else {
            break;
        }
        if (anchored)
            break;
    }
    luaL_addlstring(&buffer, at, (size_t)(m.end - at));
    luaL_pushresult(&buffer);
    lua_pushinteger(L, count);
    return 2;
}
