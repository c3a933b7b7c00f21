-- Tests run_cases.lua itself: cases that hold and cases that must fail; the command is a shell script.
-- usage: lua5.4 run_cases_self.lua

local folder = arg[0]:match("^(.*)/[^/]*$") or "."

local COMMAND = [[#!/bin/sh
case "$1" in
say) shift; printf '%s\n' "$@" ;;
json) printf '{"document":"x","version":1,"n":20.644,"list":["a","b"],"t":true,"f":false,"z":null,"s":"5",'
      printf '"causes":[{"fault":"one","p":0.5},{"fault":"two","p":0.25}]}\n' ;;
json-bad) printf '{"n":1,}\n' ;;
json-plain) printf '{"n":1}\n' ;;
cat) shift; cat "$@" ;;
input) cat ;;
fail) echo "ovenproof: a.csv:3: wrong" >&2; echo "hint: mend it" >&2; exit "$2" ;;
fail-long) echo "ovenproof: wrong" >&2; echo "trace" >&2; echo "hint: mend it" >&2; exit 3 ;;
signal) kill -ABRT $$ ;;
home) mkdir -p "$XDG_CONFIG_HOME"; echo "kept in $HOME" > "$XDG_CONFIG_HOME/s"; echo "[$OVENPROOF_DEGREES]" ;;
esac
]]

local GOOD = [[
# a source for all below
source: the runner itself

run: say one "two words"
out: two words
out-line: one
out-lines: 2
out-lines-max: 2
out-columns-max: 9
out-order: one ~~ two
not-out: three
same-as: say one 'two words'
err-lines: 0

run: json --json
json: n ~ 20.6 +- 0.05
json: n = 20.644
json: n > 20
json: n <= 20.644
json: list has b
json: list lacks c
json: list count 2
json: list[-1] = b
json: t = true
json: f = false
json: f exists
json: z = null
json: s = "5"
json: s != 5
json: q absent
json: causes[fault=two].p = 0.25
json: causes[fault=three] absent
json: document has x

file a.csv:
    one

      two
bytes sub/b: x\x00\n\\\x41
run: cat a.csv sub/b | od -An -c
out: o   n   e  \n  \n           t   w   o  \n   x  \0  \n   \   A

input:
    a
    b
run: input
out-lines: 2
out-line: b

input-bytes: \x41
run: input
out-line: A

env: OVENPROOF_DEGREES=F
before: echo made > made
run: home
out: [F]
wrote ~/.config/s: /home
wrote made: made
not-wrote other

run: fail 3
status: 3
err: a.csv:3
err-line: hint: mend it
not-err: trace

run: fail-long
status: 3
err-lines: 3

outside: no/such/file
run: say skipped
out: never
]]

-- Each must fail, on the line that is given (counted in the block), with this word in what was seen.
local BAD = {
    { 'run: say one\nout: two', 2, "one" },
    { 'run: say one\nnot-out: one', 2, "one" },
    { 'run: say one two\nout-line: on', 2, "one" },
    { 'run: say one two\nout-lines: 1', 2, "2 lines" },
    { 'run: say one two\nout-lines-max: 1', 2, "2 lines" },
    { 'run: say onetwo\nout-columns-max: 5', 2, "6 columns" },
    { 'run: say one two\nout-order: two ~~ one', 2, "one" },
    { 'run: say one\nsame-as: say two', 2, "two" },
    { 'run: say one\nstatus: 1', 2, "status 0" },
    { 'run: fail 3', 1, "status 3" },
    { 'run: fail 1\nstatus: 1\nerr: right', 3, "wrong" },
    { 'run: fail-long\nstatus: 3', 1, "trace" },
    { 'run: signal\nstatus: 134', 1, "signal" },
    { 'run: json --json\njson: n ~ 20.7 +- 0.05', 2, "20.644" },
    { 'run: json --json\njson: n = 20', 2, "20.644" },
    { 'run: json --json\njson: n < 20', 2, "20.644" },
    { 'run: json --json\njson: q = 1', 2, "nothing" },
    { 'run: json --json\njson: q != 1', 2, "nothing" },
    { 'run: json --json\njson: q lacks 1', 2, "nothing" },
    { 'run: json --json\njson: q exists', 2, "nothing" },
    { 'run: json --json\njson: n absent', 2, "20.644" },
    { 'run: json --json\njson: s = 5', 2, '"5"' },
    { 'run: json --json\njson: list has c', 2, '"a"' },
    { 'run: json --json\njson: list count 3', 2, "count 2" },
    { 'run: json --json\njson: t = false', 2, "true" },
    { 'run: json --json\njson: causes[0].p > 0.5', 2, "0.5" },
    { 'run: json-bad --json', 1, "JSON" },
    { 'run: json-plain --json', 1, "document" },
    { 'run: say one\njson: n exists', 2, "no JSON" },
    { 'run: say one\nwrote a: x', 2, "no file" },
    { 'before: touch a\nrun: say one\nnot-wrote a', 3, "exists" },
    { 'before: false\nrun: say one', 2, "status 1" },
    { 'run: home\nout: [F]', 2, "[]" },
}

-- Not a case file at all: exit status 2 and the line.
local BROKEN = {
    { "source: x\n\nout: a\n", ":3:" },
    { "run: say a\n", "source" },
    { "source: x\n\nrun: say a\nspeak: a\n", ":4:" },
    { "source: x\n\nrun: say a\nrun: say b\n", ":4:" },
    { "source: x\n\nrun: say a\nout a\n", ":4:" },
    { "source: x\n\nrun: json\njson: n ~ 5\n", ":4:" },
    { "source: x\n\nrun: json\njson: n resembles 5\n", ":4:" },
}

local function command_output(command)
    local pipe = assert(io.popen(command .. " 2>&1; echo status $?"))
    local text = pipe:read("a")
    pipe:close()
    return text
end

local base = command_output("mktemp -d"):match("^[^\n]*")
local failures = 0

local function write(name, text)
    local file = assert(io.open(base .. "/" .. name, "wb"))
    file:write(text)
    file:close()
end

local function run(text)
    write("a.cases", text)
    return command_output(string.format("lua5.4 %s/run_cases.lua %s/command %s/a.cases", folder, base, base))
end

local function expect(good, what, seen)
    if not good then
        failures = failures + 1
        print("not as expected: " .. what .. "\n" .. seen)
    end
end

write("command", COMMAND)
os.execute("chmod +x " .. base .. "/command")

local seen = run(GOOD)
expect(seen:find("\n8 passed, 0 failed, 1 skipped\nstatus 0", 1, true), "the good cases", seen)

for _, bad in ipairs(BAD) do
    seen = run("source: the runner itself\n\n" .. bad[1] .. "\n")
    expect(seen:find("a.cases:" .. bad[2] + 2 .. ":", 1, true) and seen:find(bad[3], 1, true)
        and seen:find("\n0 passed, 1 failed\nstatus 1", 1, true), bad[1], seen)
end

for _, broken in ipairs(BROKEN) do
    seen = run(broken[1])
    expect(seen:find(broken[2], 1, true) and seen:find("status 2", 1, true), broken[1], seen)
end

os.execute("rm -rf " .. base)
print(string.format("%d of %d as expected", 1 + #BAD + #BROKEN - failures, 1 + #BAD + #BROKEN))
os.exit(failures == 0 and 0 or 1)
