/* Scripts that try to get out of the sandbox, to stay in it for ever, or to take the program down. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "lua/lua_internal.h"

#include <lualib.h>

static ovp_error error;
static char printed[65536];
static size_t printed_count;
static char script_path[] = "/tmp/ovenproof-test-script-XXXXXX";

static ovp_status keep(void *context, const char *bytes, size_t count)
{
    (void)context;
    if (printed_count + count < sizeof printed)
        memcpy(printed + printed_count, bytes, count);
    printed_count += count;
    return OVP_OK;
}

static ovp_status run_bytes(const char *bytes, size_t count, const lua_limits *limits)
{
    FILE *stream = fopen(script_path, "wb");
    assert_non_null(stream);
    assert_int_equal(fwrite(bytes, 1, count, stream), count);
    assert_int_equal(fclose(stream), 0);
    memset(printed, 0, sizeof printed);
    printed_count = 0;
    error = (ovp_error){0};
    static const char *const arguments[] = {"one", "two"};
    return lua_run_script(script_path, arguments, 2, limits, (ovp_sink){keep, NULL}, &error);
}

/* Long, so that a slow machine or a checker changes nothing; short only where the end of the time is the
 * point. */
static double seconds = 600;

static ovp_status run(const char *text)
{
    const lua_limits limits = {.seconds = seconds, .memory_bytes = 32000000, .output_bytes = 60000};
    return run_bytes(text, strlen(text), &limits);
}

static void prints(const char *script, const char *expected)
{
    if (run(script) != OVP_OK)
        fail_msg("%s: line %d: %s", script, (int)error.line, error.what);
    assert_string_equal(printed, expected);
}

static const char too_long[] = "took too long", too_large[] = "too much memory",
                  too_much[] = "printed too much";

/* One line that names file and line, and says what; "" is any limit or error. */
static void fails(const char *script, uint64_t line, const char *what)
{
    seconds = what == too_long || what[0] == '\0' ? 0.08 : 600;
    ovp_status status = run(script);
    seconds = 600;
    if (status != OVP_ERROR_DATA || strstr(error.what, what) == NULL || error.line != line ||
        strchr(error.what, '\n') != NULL)
        fail_msg("%s: status %d, line %d: %s", script, (int)status, (int)error.line, error.what);
    assert_string_equal(error.file, script_path);
}

static void ordinary_scripts(void **state)
{
    (void)state;
    prints("print(...)\nprint(arg[1], #arg)", "one\ttwo\none\t2\n");
    prints("#!/usr/bin/env ovenproof lua\nprint(1)", "1\n");
    prints("print(pcall(error, 'x', 0))", "false\tx\n");
    prints("print(pcall(error, {1}))", "false\ttable\n");
    prints("print(xpcall(function() error('a', 0) end, function(m) return m .. 'b' end))", "false\tab\n");
    prints("print(select(2, xpcall(function(...) return ... end, print, 1, 2)))", "1\t2\n");
    prints("local c = coroutine.wrap(function(a) local b = coroutine.yield(a) print(b) end) print(c(1)) c(2)",
           "1\n2\n");
    prints("print(pcall(function() return coroutine.isyieldable(), coroutine.running() end))",
           "true\tfalse\tthread\ttrue\n");
    prints("local c = coroutine.create(function() error('x', 0) end) print(coroutine.resume(c)) "
           "print(coroutine.status(c), coroutine.close(c))",
           "false\tx\ndead\tfalse\tx\n");
    prints("local c = coroutine.wrap(function() return pcall(function() coroutine.yield(1) error('z', 0) "
           "end) end) "
           "print(c()) print(c())",
           "1\nfalse\tz\n");
    prints("do local x <close> = setmetatable({}, { __close = function() print('closed') end }) end",
           "closed\n");
    prints("print('10' + 1, ('x'):rep(3, ','), #('ab'):rep(1000), (''):rep(1000000000))",
           "11\tx,x,x\t2000\t\n");
    prints("print(string.format('%s %s %5.1f %q %%', {}, nil, 2.25, 'a'), tostring(print))",
           "table nil   2.2 \"a\" %\tfunction\n");
    prints("math.randomseed(7) local a = math.random(1000) math.randomseed(7) print(a == math.random(1000))",
           "true\n");
    prints("print(utf8.len('\xC3\xA4'), utf8.char(228), table.unpack({ 1, 2 }))", "1\t\xC3\xA4\t1\t2\n");
    prints("local t = { 3, 1, 2 } table.sort(t, function(a, b) return a > b end) print(table.concat(t, ' '))",
           "3 2 1\n");
}

/* ITS-90 (NIST SRD 60): K 500 degC 20.644 mV; and 20.644 mV is 500.0 degC. */
static void modules(void **state)
{
    (void)state;
    prints("local t = require 'ovenproof.thermocouple' print(string.format('%.3f %.1f %.3f', t.emf('K', "
           "'932F'), "
           "t.temperature('K', 20.644), t.emf('k', 500, 500)))",
           "20.644 500.0 0.000\n");
    prints("local t = require 'ovenproof.thermocouple' local r = t.misread { sensor = 'K', at = '150F', cold "
           "= '75F', "
           "reversed = true } print(r.display, math.floor(r.reads_C * 1.8 + 32.5))",
           "ok\t-3\n");
    prints("local t = require 'ovenproof.text' print(t.quantity('932F', 'temperature'), t.temperature(500), "
           "t.temperature(500, 'C', 0), t.number(0.1))",
           "500.0\t932.0 \xC2\xB0"
           "F (500.0 \xC2\xB0"
           "C)\t500 \xC2\xB0"
           "C\t0.1\n");
    prints("print(require 'ovenproof.text' == require 'ovenproof.text')", "true\n");
    fails("require 'ovenproof.thermocouple'.emf('K', 5000)", 1, "");
    fails("require 'ovenproof.thermocouple'.emf('K', '5000')", 1, "bad argument #2");
    fails("require 'ovenproof.thermocouple'.emf('Q', 5)", 1, "bad argument #1");
    fails("require 'ovenproof.thermocouple'.misread { sensor = 'K', at = 5, hed = 7 }", 1, "'hed'");
    fails("require 'ovenproof.thermocouple'.misread { at = 5 }", 1, "'sensor'");
    /* 1800 W twice at 240 V is 15 A; UL 489: 135 % within 1 h; 50 ft of 16 AWG is 0.4016 ohm there and back
     */
    prints(
        "local e = require 'ovenproof.electrical' local oven = { name = 'x', supply = { volts = '240V', "
        "circuit "
        "= '20A', shared = false }, elements = { { watts = '1800W' }, { watts = '1800W' } }, wiring = "
        "'parallel', "
        "fitted = { limiter = false, contactor = false } } print(e.load(oven).full_A, "
        "e.circuit(oven).verdict, "
        "e.circuit(oven).warnings[1]) local p = e.protection('20A', 27) print(p.opens_within_s, p.holds_s, "
        "e.cord('50ft 16AWG').ohm) print(e.circuit(oven, { extension = '10ft 18AWG' }).checks.extension)",
        "15.0\tgood\ta shorted relay leaves it heating; nothing but the plug stops it\n3600.0\tnil\t0.4016\n"
        "trouble\n");
    prints("local e = require 'ovenproof.electrical' print(string.format('%.4f', e.line_ohms({ name = 'x' }, "
           "'121.3V', '117.2V', '12A').ohm))",
           "0.3417\n");
    fails("require 'ovenproof.electrical'.circuit { hed = 7 }", 1, "hed");
    fails("require 'ovenproof.electrical'.circuit({}, { extension = 'long' })", 1, "wire");
    fails("local t = {} t.supply = t require 'ovenproof.electrical'.load(t)", 1, "nested too deep");
    fails("require 'ovenproof.electrical'.load { name = print }", 1, "function");
    fails("require 'os'", 1, "no module 'os'");
    fails("\nrequire '/tmp/x'", 2, "no module");
}

static void scripts_that_are_wrong(void **state)
{
    (void)state;
    fails("print(", 1, "unexpected symbol");
    fails("\n\nprint(nil + 1)", 3, "arithmetic");
    fails("\nerror('a\\nb')", 2, "a");
    fails("error()", 1, "without words");
    fails("\nerror({})", 2, "no text");
    fails("error(setmetatable({}, { __tostring = function() while true do end end }))", 1, "no text");
    assert_int_equal(run_bytes("\x1BLuaT", 5, &(lua_limits){1, 32000000, 60000}), OVP_ERROR_DATA);
    assert_non_null(strstr(error.what, "binary"));
    assert_int_equal(lua_run_script("/no/such/script", NULL, 0, &(lua_limits){1, 32000000, 1},
                                    (ovp_sink){keep, NULL}, &error),
                     OVP_ERROR_SYSTEM);
}

/* ---- nothing to get hold of ------------------------------------------------------------------------- */

static void doors_that_are_not_there(void **state)
{
    (void)state;
    static const char *const names[] = {"io",
                                        "os",
                                        "debug",
                                        "package",
                                        "load",
                                        "loadstring",
                                        "loadfile",
                                        "dofile",
                                        "module",
                                        "collectgarbage",
                                        "warn",
                                        "jit",
                                        "unpack",
                                        "setfenv",
                                        "getfenv",
                                        "newproxy",
                                        "bit32",
                                        "string.dump",
                                        "string.pack",
                                        "string.unpack",
                                        "string.packsize"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        char script[160];
        snprintf(script, sizeof script, "print(%s)", names[i]);
        prints(script, "nil\n");
    }
    fails("getmetatable('').__index = {}", 1, "attempt");
    fails("setmetatable({}, { __gc = function() while true do end end })", 1, "__gc");
    fails("setmetatable({}, setmetatable({ __gc = 1 }, { __index = {} }))", 1, "__gc");
    prints("local m = {} local t = setmetatable({}, m) m.__gc = function() print('ran') end t = nil "
           "for i = 1, 10000 do t = {} end print('end')",
           "end\n");
    fails("print(string.format('%p', {}))", 1, "%p");
    fails("print(string.format('%-5p', print))", 1, "%p");
    fails("print(string.format('%99999d', 1))", 1, "invalid");
    fails("setmetatable(setmetatable({}, { __metatable = 1 }), {})", 1, "protected");
    fails("math.randomseed()", 1, "number expected");
    prints("for name in pairs(_G) do if name:find('^lua') then print(name) end end", "");
}

/* ---- nothing lasts ------------------------------------------------------------------------------------- */

static void loops_without_end(void **state)
{
    (void)state;
    fails("while true do end", 1, too_long);
    fails("\nlocal function f() return f() end f()", 2, too_long);
    fails("while true do pcall(function() while true do end end) end", 1, too_long);
    fails("while true do pcall(error) end", 1, too_long);
    fails("while true do xpcall(function() while true do end end, function() while true do end end) end", 1,
          too_long);
    fails("local function f() pcall(f) f() end f()", 1, "");
    fails("local function f() xpcall(f, f) f() end f()", 1, "");
    fails("local c = coroutine.wrap(function() while true do end end) c()", 1, too_long);
    fails("while true do coroutine.resume(coroutine.create(function() while true do end end)) end", 1,
          too_long);
    fails("while true do local c = coroutine.wrap(function() coroutine.yield() end) c() end", 1, too_long);
    /* no thread runs long enough for its own hook: the tree of them does */
    fails("local function f(d) if d == 0 then return end for i = 1, 9 do coroutine.wrap(f)(d - 1) end "
          "end\nf(150)",
          1, "");
    fails("for i = 1, 1e9 do local t <close> = setmetatable({}, { __close = function() while true do end end "
          "}) end",
          1, too_long);
    fails("local t <close> = setmetatable({}, { __close = function() while true do end end })\nwhile true do "
          "end",
          2, too_long);
    fails("local c = coroutine.create(function() local t <close> = setmetatable({}, { __close = function() "
          "while true "
          "do end end }) coroutine.yield() end) coroutine.resume(c) coroutine.close(c)",
          1, too_long);
    fails("local t = setmetatable({}, { __index = function(t, k) return t[k + 1] end }) pcall(function() "
          "return t[1] "
          "end) while true do end",
          1, too_long);
    fails("goto a ::a:: goto a", 1, "");
}

static void long_work_that_no_hook_sees(void **state)
{
    (void)state;
    fails("local s = ('a'):rep(25000) s:find(('.-'):rep(8) .. 'b')", 1, too_long);
    fails("('a'):rep(200000):find('.-.-.-b')", 1, too_long);
    fails("('a'):rep(200000):match('(.-)(.-)(.-)b')", 1, too_long);
    fails("for w in ('a'):rep(200000):gmatch('.-.-b') do end", 1, too_long);
    fails("('a'):rep(200000):gsub('.-.-b', '')", 1, too_long);
    fails("('('):rep(5000000):find('%b()', 1)  while true do ('('):rep(100000):find('%b()') end", 1,
          too_long);
    fails("while true do ('a'):rep(4000000):find('b', 1, true) end", 1, too_long);
    fails("pcall(string.find, ('a'):rep(200000), '.-.-.-b') while true do end", 1, too_long);
    fails("while true do local s = ('x'):rep(8000000) end", 1, too_long);
    fails("while true do local s = ('x'):rep(4000000):upper():lower():reverse() end", 1, too_long);
    fails("local s = ('x'):rep(4000000) while true do local t = s .. s end", 1, too_long);
    fails("local s = ('x'):rep(4000000) while true do local t = s < s .. 'y' end", 1, too_long);
    fails("for i = 1, 1e9 do string.format('%99.99f', 1e300) end", 1, too_long);
    fails("local t = {} for i = 1, 200000 do t[i] = 'x' end while true do table.concat(t) end", 1, too_long);
    fails("local t = {} for i = 1, 200000 do t[i] = i end while true do table.insert(t, 1, 0) "
          "table.remove(t, 1) end",
          1, too_long);
    fails("local t = {} for i = 1, 300000 do t[i] = i * 7919 % 300007 end while true do table.sort(t) "
          "table.sort(t, "
          "function(a, b) return a > b end) end",
          1, too_long);
    fails("while true do pcall(table.sort, { 3, 1, 2, 5, 4 }, function() return true end) end", 1, too_long);
    fails("table.move({}, 1, 1e9, 2)", 1, "too many entries");
    fails("table.move({}, math.mininteger, math.maxinteger, 2)", 1, "too many");
    fails("table.concat(setmetatable({}, { __len = function() return 1e9 end }))", 1, "without a metatable");
    fails("table.remove(setmetatable({}, { __len = function() return 1e9 end }), 1)", 1,
          "without a metatable");
    fails("table.move({}, 1, 5, 1, setmetatable({}, { __newindex = print }))", 1, "without a metatable");
    fails("table.unpack({}, 1, 1e8)", 1, "too many results");
    fails("while true do utf8.len(('x'):rep(2000000)) end", 1, too_long);
    fails("while true do tonumber(('1'):rep(2000000)) end", 1, too_long);
    fails("while true do local s = ('x'):rep(2000000) s:byte(1, 10) s:sub(2) end", 1, too_long);
}

static void memory_and_output(void **state)
{
    (void)state;
    fails("local t = {} while true do t[#t + 1] = {} end", 1, too_large);
    fails("\nlocal s = 'x'\nwhile true do s = s .. s end", 3, too_large);
    fails("while true do pcall(string.rep, 'x', 31000000) pcall(string.rep, 'x', 1e6) local t = {} for i = "
          "1, 1e9 do "
          "t[i] = i end end",
          1, too_large);
    fails("string.rep('x', 1e9)", 1, "too large");
    fails("string.rep('x', math.maxinteger, 'yy')", 1, "too large");
    fails("local t = {} for i = 1, 1e9 do t[i] = coroutine.create(function() end) end", 1, too_large);
    fails("local t = {} for i = 1, 1e9 do t[i] = coroutine.wrap(print) end", 1, too_large);
    fails("local s = ('x'):rep(1000000) local t = {} for i = 1, 1000 do t[i] = s end table.concat(t)", 1,
          too_large);
    fails("('x'):rep(1000000):gsub('x', ('y'):rep(1000))", 1, too_large);
    fails("local function f() return 1 + f() end f()", 1, "");
    fails("local function f(...) return f(1, ...) end f()", 1, "");
    fails("local s = ('('):rep(300) ('x'):find(s .. 'x')", 1, "");
    fails("('x'):rep(500):find(('x?'):rep(500))", 1, "too complex");
    fails("string.gsub('x', 'x', function() return {} end)", 1, "invalid replacement");
    fails("local function f() return string.gsub('x', 'x', f) end f()", 1, "stack overflow");
    fails("local c c = coroutine.wrap(function() c() end) c()", 1, "");
    fails("local function f() return coroutine.wrap(f)() end f()", 1, "stack overflow");
    fails("local function f() local ok = pcall(f) error('x', 0) end f()", 1, "");
    fails("while true do print('flood') end", 1, too_much);
    assert_true(printed_count <= 60000);
    fails("print(('x'):rep(70000))", 1, too_much);
    assert_int_equal(printed_count, 0);
    fails("while true do pcall(print, ('x'):rep(1000)) end", 1, too_much);
    fails("print(setmetatable({}, { __tostring = function() return {} end }))", 1, "must return a string");
    fails("print(setmetatable({}, { __tostring = function() while true do end end }))", 1, too_long);
    fails("print(setmetatable({}, { __name = ('x'):rep(100000) })) error('after', 0)", 1, "after");
}

/* A source that is hard on the compiler. */
static void sources_that_are_hard(void **state)
{
    (void)state;
    static const struct {
        const char *head, *body, *tail;
        size_t times;
    } rows[] = {
        {"return ", "(", "", 100000}, {"return ", "{", "", 100000},          {"", "do ", "", 100000},
        {"x = ", "a.", "b", 200000},  {"return ", "-", "1", 100000},         {"local a", ",a", "", 100000},
        {"return ", "f(", "", 50000}, {"return '", "xxxxxxxx", "'", 300000}, {"return {", "1,", "}", 500000},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        size_t body = strlen(rows[i].body), count = strlen(rows[i].head);
        char *text = malloc(count + body * rows[i].times + strlen(rows[i].tail) + 1);
        assert_non_null(text);
        memcpy(text, rows[i].head, count);
        for (size_t j = 0; j < rows[i].times; j++, count += body)
            memcpy(text + count, rows[i].body, body);
        count += (size_t)sprintf(text + count, "%s", rows[i].tail);
        ovp_status status = run_bytes(text, count, &(lua_limits){1, 32000000, 60000});
        assert_true(status == OVP_OK || status == OVP_ERROR_DATA);
        free(text);
    }
}

/* ---- the allow-list is the manual's ----------------------------------------------------------------------
 */

static void the_manual_lists_every_name(void **state)
{
    (void)state;
    FILE *stream = fopen(TREE "/docs/lua.md", "r");
    assert_non_null(stream);
    static char manual[32768];
    size_t count = fread(manual, 1, sizeof manual - 1, stream);
    fclose(stream);
    manual[count] = '\0';
    char *at = strstr(manual, "<!-- names: begin -->"), *end = strstr(manual, "<!-- names: end -->");
    assert_non_null(at);
    assert_non_null(end);
    *end = '\0';
    static char expected[16384];
    for (at = strchr(at, '`'); at != NULL; at = strchr(at, '`')) {
        char *close = strchr(at + 1, '`');
        assert_non_null(close);
        *close = '\0';
        if (strncmp(at + 1, "require ", 8) != 0) {
            strcat(expected, at + 1);
            strcat(expected, "\n");
        }
        at = close + 1;
    }
    static const char list[] =
        "local names = {}\n"
        "local function add(prefix, t) for k, v in pairs(t) do names[#names + 1] = prefix .. k\n"
        "if type(v) == 'table' and v ~= _G and prefix == '' and k ~= 'arg' then add(k .. '.', v) end end "
        "end\n"
        "add('', _G) add('thermocouple.', require 'ovenproof.thermocouple') add('text.', require "
        "'ovenproof.text') add('electrical.', require 'ovenproof.electrical') "
        "add('thermal.', require 'ovenproof.thermal')\n"
        "add('oven.', require 'ovenproof.oven')\n"
        "table.sort(names) print(table.concat(names, '\\n'))";
    assert_int_equal(run(list), OVP_OK);
    char *have = strdup(printed), sorted[sizeof list + 16384];
    snprintf(sorted, sizeof sorted,
             "local t = {} for w in ([[%s]]):gmatch('[^\\n]+') do t[#t + 1] = w end table.sort(t) "
             "print(table.concat(t, '\\n'))",
             expected);
    assert_int_equal(run(sorted), OVP_OK);
    assert_string_equal(have, printed);
    free(have);
}

/* ---- our patterns are Lua's
 * -------------------------------------------------------------------------------- */

/* Every call is made in Lua's own library and in the sandbox; both must say the same, errors included. */
static const char pattern_calls[] =
    "local out = {}\n"
    "local function show(...)\n"
    "  local t = table.pack(...)\n"
    "  for i = 1, t.n do t[i] = tostring(t[i]):gsub('^script:%d+: ', ''):gsub('^%[.-%]:%d+: ', '') end\n"
    "  out[#out + 1] = table.concat(t, '|')\n"
    "end\n"
    "local subjects = { '', 'a', 'aaa', 'hello world', 'key = value', '(a(b)c)', 'x-1.5e+3', 'THE (quick) "
    "fox', 'a.b*c',\n"
    "  'THIS AND that', '  trim  ', '%d', ']', 'abc\\0def', '\\200\\255', 'a,b,,c', 'aXbXc', '[[x]]', "
    "'f(x)=%1', '^$' }\n"
    "local patterns = { '', 'a', 'a*', 'a+', 'a-', 'a?', '.', '.-', '.*', '^a', 'a$', '^a*$', '$', '^', "
    "'^$', '%a+', '%A+',\n"
    "  '%d', '%D', '%s*', '%S', '%w+', '%W', '%p', '%P', '%x+', '%X', '%l', '%L', '%u', '%U', '%c', '%g+', "
    "'%G', '%%', '%.',\n"
    "  '[abc]', '[^abc]', '[a-c]+', '[^a-c]+', '[%a_]', '[%w%-]+', '[]]', '[^]]', '[a-]', '[-a]', '[a%-z]', "
    "'[%a-z]', '[%]]',\n"
    "  '(a)', '(a*)', '()', '()a()', '(a)(b)?', '((a)(b))', '(.)(.)', '(.)%1', '(%a)%1', "
    "'(%w+)%s*=%s*(%w+)', '%b()', '%b[]',\n"
    "  '%bxx', '%f[%a]%a+', '%f[%A]', '%f[%z]', 'X', '[a', '[', '%', '(', ')', '(()', '%1', '(%1)', '%b', "
    "'%bx', '%f', '%fa',\n"
    "  'a**', 'a+*', '*', '+a', '-', '?', '^*', '$a', 'a$b', '[^', '[]', '[%', '(a', 'a)', '.-b', "
    "'(.-)%s*$', '^%s*(.-)%s*$',\n"
    "  '\\0', '[%z]', '%z', '[\\200-\\255]', '[a-%%]', '[%d.]+', '%d+%.?%d*', '[+-]?%d+', '(()(()))', "
    "'%a-%d', 'x?y?z?' }\n"
    "local replacements = { 'r', '', '%0', '%1', '%%', '<%0>', '%2', '%', '%x', function(a) return a end,\n"
    "  function() return nil end, function() return false end, function() return {} end, { a = 'T', hello = "
    "1 }, 5 }\n"
    "for _, s in ipairs(subjects) do\n"
    "  for _, p in ipairs(patterns) do\n"
    "    show(pcall(string.find, s, p)) show(pcall(string.match, s, p)) show(pcall(string.find, s, p, 2))\n"
    "    show(pcall(string.match, s, p, -2)) show(pcall(string.find, s, p, 1, true)) show(pcall(string.find, "
    "s, p, 99))\n"
    "    show(pcall(function() local all = {} for a, b in string.gmatch(s, p) do all[#all + 1] = tostring(a) "
    ".. ',' .. "
    "tostring(b) end return table.concat(all, ';') end))\n"
    "    for _, r in ipairs(replacements) do show(pcall(string.gsub, s, p, r)) show(pcall(string.gsub, s, p, "
    "r, 1)) end\n"
    "  end\n"
    "end\n"
    "local sum, n = 0, 0\n"
    "for i, line in ipairs(out) do for j = 1, #line do sum = (sum * 31 + line:byte(j)) % 4294967296 end end\n"
    "print(#out, sum)\n";

static int keep_printed(lua_State *L)
{
    printed_count = 0;
    memset(printed, 0, sizeof printed);
    for (int i = 1; i <= lua_gettop(L); i++) {
        size_t length;
        const char *text = luaL_tolstring(L, i, &length);
        if (i > 1)
            keep(NULL, "\t", 1);
        keep(NULL, text, length);
        lua_pop(L, 1);
    }
    keep(NULL, "\n", 1);
    return 0;
}

static void run_in_plain_lua(const char *script)
{
    lua_State *L = luaL_newstate();
    assert_non_null(L);
    luaL_openlibs(L);
    lua_register(L, "print", keep_printed);
    if (luaL_loadbuffer(L, script, strlen(script), "=script") != LUA_OK || lua_pcall(L, 0, 0, 0) != LUA_OK)
        fail_msg("%s", lua_tostring(L, -1));
    lua_close(L);
}

static void patterns_agree_with_lua(void **state)
{
    (void)state;
    static const lua_limits limits = {.seconds = 600, .memory_bytes = 256000000, .output_bytes = 60000};
    run_in_plain_lua(pattern_calls);
    char *plain = strdup(printed);
    if (run_bytes(pattern_calls, strlen(pattern_calls), &limits) != OVP_OK)
        fail_msg("line %d: %s", (int)error.line, error.what);
    print_message("calls and checksum: %s", plain);
    assert_string_equal(plain, printed);
    free(plain);
}

static int set_up(void **state)
{
    (void)state;
    int file = mkstemp(script_path);
    if (file < 0)
        return 1;
    close(file);
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    return remove(script_path);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ordinary_scripts),
        cmocka_unit_test(modules),
        cmocka_unit_test(scripts_that_are_wrong),
        cmocka_unit_test(doors_that_are_not_there),
        cmocka_unit_test(loops_without_end),
        cmocka_unit_test(long_work_that_no_hook_sees),
        cmocka_unit_test(memory_and_output),
        cmocka_unit_test(sources_that_are_hard),
        cmocka_unit_test(the_manual_lists_every_name),
        cmocka_unit_test(patterns_agree_with_lua),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
