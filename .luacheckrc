std = "lua54"
max_line_length = 110
-- What the guide host gives a guide (core/lua); a data file uses no global at all.
files["scripts/guides"] = {
    std = "none",
    read_globals = {
        "ask", "expect", "conclude", "next_question", "normal", "infer", "answer_of", "doubt", "reading",
        "assert", "error", "getmetatable", "ipairs", "math", "next", "pairs", "pcall", "rawequal", "rawget",
        "rawlen", "rawset", "select", "setmetatable", "string", "table", "tonumber", "tostring", "type",
        "utf8", "xpcall",
    },
}
files["scripts/ovens"] = { std = "none" }
files["scripts/budgets"] = { std = "none" }
files["scripts/checklists"] = { std = "none", max_line_length = false }
files["scripts/plans"] = { std = "none", max_line_length = false }
files["tests/truth"] = { max_line_length = 121 } -- rows of ovens and cases
exclude_files = { "tests/fuzz/seeds" } -- inputs of a fuzz target, not code
