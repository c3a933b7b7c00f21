-- Holds the sorting of complaints: each line of a file of complaints must lead to its guide.
-- usage: lua5.4 run_complaints.lua BINARY FILE

local binary, path = arg[1], arg[2]
if not path then
    io.stderr:write("usage: lua5.4 run_complaints.lua BINARY FILE\n")
    os.exit(2)
end

local home = os.tmpname() -- no settings of this machine
os.remove(home)

local function quote(text)
    return "'" .. text:gsub("'", "'\\''") .. "'"
end

local function led_to(words)
    local command = string.format("echo '{}' | HOME=%s %s guide %s --oven QR-8 --answers - --json 2>&1",
        quote(home), quote(binary), quote(words))
    local pipe = assert(io.popen(command))
    local text = pipe:read("a")
    pipe:close()
    return text:match('"guide": ?"([^"]*)"') or text:sub(1, 100), text:match('"also": ?"([^"]*)"') or ""
end

local wrong, count, number = 0, 0, 0
for line in assert(io.open(path, "r")):lines() do
    number = number + 1
    local guide, also, words = line:match("^([%w-]+) *%+? *([%w-]*) *| *(.+)$")
    if words then
        local got, weighed = led_to(words)
        count = count + 1
        if got ~= guide or weighed ~= also then
            wrong = wrong + 1
            print(string.format("%s:%d: %s: leads to %s + %s", path, number, words, got, weighed))
        end
    elseif line ~= "" and not line:find("^#") then
        io.stderr:write(string.format("%s:%d: not GUIDE | words\n", path, number))
        os.exit(2)
    end
end
print(string.format("%d complaints, %d wrong", count, wrong))
os.exit(wrong == 0 and count > 0)
