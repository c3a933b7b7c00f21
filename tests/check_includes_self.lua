-- Proves that check_includes.lua can fail: a small tree with wrong arrows, each of which must be named.
-- usage: lua5.4 tests/check_includes_self.lua TREE
local tree = arg[1]
local folder = os.tmpname()
os.remove(folder)
for _, room in ipairs({ "text", "oven", "include/ovenproof" }) do
    assert(os.execute("mkdir -p " .. folder .. "/core/" .. room))
end

local function write(path, text)
    local file = assert(io.open(folder .. "/" .. path, "w"))
    file:write(text)
    file:close()
end

write("core/include/ovenproof/text.h", '#include "ovenproof/base.h"\n')
write("core/include/ovenproof/oven.h", '#include "ovenproof/text.h"\n')
write("core/text/upward.c", [[
#include "ovenproof/oven.h"
#include <time.h>
int f(void) { return puts("x"); }
]])
write("core/include/ovenproof/text_part.h", '#include "ovenproof/base.h"\n')
write("core/oven/part.c", '#include "ovenproof/text_part.h"\n')
write("core/oven/private.c", '#include "text/text_internal.h"\n#include "lua/lua.h"\n')

local run = assert(io.popen("lua5.4 " .. tree .. "/tests/check_includes.lua " .. folder))
local said = run:read("a")
local good = run:close()
os.execute("rm -r " .. folder)

local failures = 0
local function expect(what, condition)
    if not condition then
        failures = failures + 1
        print("not seen: " .. what)
    end
end
expect("a failing exit status", not good)
expect("text includes oven", said:find("text includes oven, which stands below it", 1, true))
expect("the clock", said:find("library room text includes <time.h>", 1, true))
expect("printing", said:find("calls puts()", 1, true))
expect("a private header", said:find("includes the private header of text", 1, true))
expect("a part of a header", said:find("includes a part of text: include ovenproof/text.h", 1, true))
expect("a tool room", said:find("oven includes lua", 1, true))
if failures > 0 then
    print(said)
end
print(string.format("%d passed, %d failed", 7 - failures, failures))
os.exit(failures == 0)
