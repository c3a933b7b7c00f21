std = "lua54"
max_line_length = 110
-- What the guide host gives a guide (core/lua); a data file uses no global at all.
files["scripts/guides"] = { read_globals = {} }
files["scripts/ovens"] = { std = "none" }
files["scripts/checklists"] = { std = "none" }
