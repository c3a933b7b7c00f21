-- An oven from first principles, for checking the program against something it was not built on: the lining
-- cut into thin shells (implicit conduction, areas that grow outwards), a grey enclosure with a radiosity node
-- and an air node in place of lumps, boiling shell by shell, a controller and a sensor loop of its own.
-- All material figures are from memory of makers' usual sheets: they need not be the program's, only likely.

local sigma = 5.670374e-8

-- conductivity W/mK at T degC, density kg/m3, specific heat J/kgK
local materials = {
    board = { k = function(t) return 0.065 + 6e-5 * t + 1.0e-7 * t * t end, rho = 270, c = 1000 },
    blanket = { k = function(t) return 0.036 + 7e-5 * t + 1.6e-7 * t * t end, rho = 130, c = 1030 },
    brick = { k = function(t) return 0.115 + 8e-5 * t end, rho = 520, c = 1020 },
    dense = { k = function(t) return 1.15 + 1e-4 * t end, rho = 2100, c = 980 },
}

-- Carriers of the coils, sleeves, shelf and frame of the door: heat they hold for each m2 of the chamber, J/m2K.
-- Chosen so that bench-top ovens take about as long as they do (common practice, no published source).
local fittings_per_m2 = 4500

local contact = 40 -- of the coils on their carriers, through the air node, W/m2K

local function cells_of(layers, area, capacity)
    local cells, x = {}, 0
    local width = 0.0018
    for _, layer in ipairs(layers) do
        local left = layer.m
        while left > 1e-6 do
            local dx = math.min(width, left)
            if left - dx < 0.4 * width then
                dx = left
            end
            local m = materials[layer.of]
            cells[#cells + 1] = { x = x + dx / 2, dx = dx, m = m, area = area(x + dx / 2), water = 0,
                heat = capacity * m.rho * m.c * area(x + dx / 2) * dx }
            x, left = x + dx, left - dx
            width = math.min(width * 1.35, 0.014)
        end
    end
    cells.depth = x
    return cells
end

local function shells(oven)
    local w, h, d = oven.w, oven.h, oven.d
    local inner = 2 * w * h + 2 * d * h + w * d
    local wall = cells_of(oven.wall, function(x)
        local W, H, D = w + 2 * x, h + x, d + 2 * x
        return inner + 0.8 * (2 * W * H + 2 * D * H + W * D - inner) -- edges conduct, corners less
    end, oven.capacity)
    local floor = cells_of(oven.floor, function(x) return (w + x) * (d + x) end, oven.capacity)
    wall.inner, floor.inner = inner, w * d
    return wall, floor
end

local function warm(cells, t, room)
    for _, cell in ipairs(cells) do
        cell.t = room + (t - room) * (1 - cell.x / cells.depth)
    end
end

-- One implicit step of the conduction; `h` couples the face to `face_t`, the shell loses to the room.
local function conduct(cells, dt, h, face_t, room, k_factor)
    local n = #cells
    local c, d = cells.c or {}, cells.d or {}
    cells.c, cells.d = c, d
    local shell = 10 + 4 * sigma * 0.8 * (0.5 * (cells[n].t + room) + 273.15) ^ 3
    local before = h * cells.inner
    local c_last, d_last = 0, face_t
    for i = 1, n do
        local cell, beyond = cells[i], cells[i + 1]
        local k = k_factor * cell.m.k(cell.t)
        local after
        if beyond then
            after = 1 / (0.5 * cell.dx / (k * cell.area) +
                0.5 * beyond.dx / (k_factor * beyond.m.k(beyond.t) * beyond.area))
        else
            after = 1 / (0.5 * cell.dx / (k * cell.area) + 1 / (shell * cell.area))
        end
        local store = cell.heat / dt
        local diagonal = store + before + after - before * c_last
        c[i] = after / diagonal
        d[i] = (store * cell.t + before * d_last) / diagonal
        before, c_last, d_last = after, c[i], d[i]
    end
    local next_t = room
    for i = n, 1, -1 do
        local t = d[i] + c[i] * next_t
        local cell = cells[i]
        if cell.water > 0 and t > 100 then
            local boiled = math.min(cell.water, cell.heat * (t - 100) / 2.257e6)
            cell.water = cell.water - boiled
            t = t - boiled * 2.257e6 / cell.heat
        end
        cell.t, next_t = t, t
    end
end

local function soak(cells, kg)
    local volume = 0
    for _, cell in ipairs(cells) do
        volume = volume + (cell.x < 0.5 * cells.depth and cell.area * cell.dx or 0)
    end
    for _, cell in ipairs(cells) do
        cell.water = cell.x < 0.5 * cells.depth and kg * cell.area * cell.dx / volume or 0
    end
end

local function temperature_at(cells, x)
    for _, cell in ipairs(cells) do
        if cell.x >= x then
            return cell.t
        end
    end
    return cells[#cells].t
end

local function setpoint_at(plan, t)
    local now = plan[1].to
    for _, step in ipairs(plan) do
        if t >= step.at then
            now = step.per_s and math.min(step.to, step.from + step.per_s * (t - step.at)) or step.to
        end
    end
    return now
end

-- What a compensating input shows. Everything in degC; nil and a word when out of range.
local function shown(couples, oven, f, tip, head, panel)
    local E = couples.emf
    local sensor, input = f.sensor or oven.tc, f.input or oven.tc
    local lead = f.extension or sensor
    if f.short_share then
        tip = head + (1 - f.short_share) * (tip - head)
    end
    local emf = E(sensor, tip) - E(sensor, head)
    if f.leak then
        local leak_t = head + 0.75 * (tip - head)
        -- ceramic loses its resistance tenfold in 150 degC: little below 700, all of it near the top
        local ratio = f.leak * 10 ^ ((950 - leak_t) / 150)
        emf = emf + (E(sensor, leak_t) - E(sensor, head) - emf) / (1 + ratio)
    end
    emf = emf * (f.gain or 1)
    local sign = f.extension_reversed and -1 or 1
    emf = emf + sign * (E(lead, head) - E(lead, panel))
    if f.reversed then
        emf = -emf
    end
    local measured_panel = panel + (f.cold_junction_share or 0) * (panel - oven.room) + (f.cold_junction or 0)
    local t, out = couples.temperature(input, emf + E(input, measured_panel))
    if not t then
        return nil, out
    end
    t = t + (f.offset or 0)
    return f.celsius_as_f and (t - 32) / 1.8 or t
end

-- Runs `oven` under `f` (what is wrong) and `run` (plan, seconds, wall volts, start, room, noise on or off);
-- calls take(t, row) at every `run.every` seconds.
return function(couples, oven, f, run, random, take)
    local wall, floor = shells(oven)
    local room = run.room
    oven.room = room
    warm(wall, run.start or room, room)
    warm(floor, run.start or room, room)
    if f.water then
        soak(wall, 0.7 * f.water)
        soak(floor, 0.3 * f.water)
    end
    local start = run.start or room
    local element, load, fittings = start, start, start
    local tip, tip_2 = start, start
    local head, panel = room + 0.05 * (start - room), room
    local power = oven.watts * (f.power or 1)
    local ohm_20 = oven.volts ^ 2 / oven.watts / 1.035
    local element_heat, element_area = 0.085 * oven.watts, oven.watts / 32000
    local load_area = run.load and 0.035 * run.load ^ (2 / 3) or 0
    local dt = run.dt or 1
    local integral, last_shown, rate = 0, nil, 0
    local fittings_heat, fittings_area = oven.fittings * fittings_per_m2 * (wall.inner + floor.inner), 0.8 * wall.inner
    local cycle_left, on_left = 0, 0
    local line_wander, other_load = 0, 0
    local frozen
    local flick, drop_until, sensor_drop_until = 0, -1, -1
    local hold_amps
    local door_until = -1

    for step = 0, math.floor(run.seconds / dt) do
        local t = step * dt
        -- the line: slow wander, other ovens on the feeder
        line_wander = line_wander + dt * (-line_wander / 600) + math.sqrt(dt) * 0.00012 * random.normal()
        if f.shared then
            local phase = (t + f.shared_from) % 1100
            other_load = phase < 420 and f.shared or 0
        end
        if run.feeder then
            other_load = 0
            for i = 1, 3 do
                other_load = other_load + (((t / 60 + 7 * i) % (11 + 2 * i)) < 5 and run.feeder / 3 or 0)
            end
        end
        local wall_V = run.volts * (f.volts or 1) * (1 + line_wander - other_load)
        local dead = f.dead_from and t >= f.dead_from or false

        -- the display
        for _, door in ipairs(run.doors or {}) do
            if t >= door.at and t < door.at + dt then
                door_until = t + door.seconds
            end
        end
        local door_open = t < door_until
        local display, word = shown(couples, oven, f, tip_2, head, panel)
        if display then
            display = display + (f.noise or 0) * random.normal()
        end
        if f.drops_per_h and t > sensor_drop_until and
            random.uniform() < dt * f.drops_per_h / 3600 * math.min(1, t / 600) then
            sensor_drop_until = t + random.between(2, 14)
        end
        if t < sensor_drop_until then
            display, word = nil, "open"
        end
        if f.open_from and t >= f.open_from then
            display, word = nil, "open"
        end
        if f.frozen_from and t >= f.frozen_from then
            frozen = frozen or display
            display = frozen
        end

        -- the controller, every second
        local wanted = setpoint_at(run.plan, t)
        if f.setpoint_share then
            wanted = math.min(wanted, f.setpoint_share)
        end
        local output
        local held_off = f.idle_from and t >= f.idle_from or run.off and t >= run.off.from and t < run.off.to
        if dead or held_off or not display then
            output, integral = 0, 0
        else
            local e = wanted - display
            rate = rate + (1 - math.exp(-dt / 8)) * ((last_shown and (display - last_shown) / dt or 0) - rate)
            last_shown = display
            local band = oven.band * (f.band or 1)
            if math.abs(e) < band then
                integral = integral + dt * e / (oven.ti * (f.ti or 1))
                integral = math.max(-0.3 * band, math.min(band, integral))
            elseif e < 0 then
                integral = math.max(0, integral - dt * band / oven.ti)
            end
            output = 100 * (e + integral - rate * oven.td) / band
            if f.action_reversed then
                output = -output
            end
            output = math.max(0, math.min(100 * (f.cap or 1), output))
        end

        -- time-proportioned: the relay is on for a share of each cycle
        local on
        if oven.period <= dt then
            on = output / 100
        else
            if cycle_left < dt then -- what is left of a cycle goes over into the next
                cycle_left = cycle_left + oven.period
                on_left = math.max(0, on_left) + oven.period * output / 100
            end
            on = math.max(0, math.min(dt, on_left)) / dt
            cycle_left, on_left = cycle_left - dt, on_left - dt
        end
        local called = on
        if f.stuck_from and t >= f.stuck_from then
            on = 1
        end
        on = math.max(on, f.relay_leak or 0)
        if (f.hot_drops_from or f.drop_rate) and t >= (f.hot_drops_from or f.drop_after or 0) then
            local per_h = f.drop_rate or 40
            if t > drop_until and random.uniform() < dt * per_h / 3600 then
                drop_until = t + random.between(0.5, 1.5) * (f.drop_s or 50)
            end
        end
        if t < drop_until or dead or f.no_current_from and t >= f.no_current_from or
            door_open and oven.door_switch then
            on = 0
        end
        if f.joint_ohm then
            flick = flick + dt * (-flick / 20) + math.sqrt(dt) * 0.2 * random.normal()
        end
        local factor = 1 + 0.04 * math.min(1, math.max(0, element) / 1000)
        local ohm = ohm_20 * factor / (f.power or 1) * (f.ohms or 1)
        local joint = (f.joint_ohm or 0) * math.max(0.1, 1 + (f.flicker or 0) * flick)
        local line = oven.line_ohm + (f.line_ohm or 0)
        local amps = wall_V / (ohm + joint + line)
        local heat = amps * amps * ohm * on * (f.half and 0.5 or 1)
        local oven_V = wall_V - amps * line * (on > 0.5 and 1 or on)

        -- the enclosure
        local h_air = 7
        local k4 = function(c) return (c + 273.15) ^ 4 end
        local g_e, g_w, g_f, g_l = 0.7 * element_area, 0.75 * wall.inner, 0.75 * floor.inner, 0.7 * load_area
        local g_t = 0.75 * fittings_area
        local hole = (f.gap_m2 or 0) + (door_open and 0.6 * oven.w * oven.h or 0)
        local sum = g_e + g_w + g_f + g_l + g_t + hole
        local J = (g_e * k4(element) + g_w * k4(wall[1].t) + g_f * k4(floor[1].t) + g_l * k4(load) +
            g_t * k4(fittings) + hole * k4(room)) / sum
        local J_t = J ^ 0.25 - 273.15
        local draught = 0.3 * 1000 * hole * 0.5 -- W/K: 0.5 m/s of hot air
        local air = (h_air * (wall.inner * wall[1].t + floor.inner * floor[1].t + load_area * load +
            2 * element_area * element) +
            contact * fittings_area * fittings + draught * room) /
            (contact * fittings_area + h_air * (wall.inner + floor.inner + load_area + 2 * element_area) + draught)
        local function face(t_face)
            local r = sigma * 0.75 * (t_face + J_t + 546.3) * ((t_face + 273.15) ^ 2 + (J_t + 273.15) ^ 2)
            return r + h_air, (r * J_t + h_air * air) / (r + h_air)
        end
        local g_el = sigma * 0.7 * element_area * (element + J_t + 546.3) *
            ((element + 273.15) ^ 2 + (J_t + 273.15) ^ 2)
        element = (element_heat / dt * element + heat + g_el * J_t + 2 * h_air * element_area * air) /
            (element_heat / dt + g_el + 2 * h_air * element_area)
        local h, target = face(wall[1].t)
        conduct(wall, dt, h, target, room, f.k or 1)
        h, target = face(floor[1].t)
        conduct(floor, dt, h, target, room, f.k or 1)
        h, target = face(fittings)
        h, target = h + contact, (h * target + contact * air) / (h + contact)
        fittings = (fittings_heat / dt * fittings + h * fittings_area * target) /
            (fittings_heat / dt + h * fittings_area)
        if run.load or f.load then
            local mass = (run.load or 0) + (f.load or 0)
            load_area = 0.035 * mass ^ (2 / 3)
            h, target = face(load)
            local store = mass * (470 + 0.25 * math.min(load, 750)) / dt
            load = (store * load + h * load_area * target) / (store + h * load_area)
        end

        -- tip, head, panel
        local back = f.back or 0
        local sees = f.sees_element or 0.03
        local around = (sees * k4(element) + (1 - sees) * (0.4 * J + 0.6 * k4(fittings))) ^ 0.25 - 273.15
        around = (1 - back) * around + back * temperature_at(wall, 0.35 * back * wall.depth)
        local lag = oven.lag * (1 + 3 * back) * (f.sees_element and 0.5 or 1)
        tip = tip + (1 - math.exp(-dt / lag)) * (around - tip)
        tip_2 = tip_2 + (1 - math.exp(-dt / (0.35 * lag))) * (tip - tip_2)
        head = head + dt / 1500 * (room + (oven.head + (f.head or 0)) * (J_t - room) - head)
        local fan_cools = run.fan and (t % 900 < 300) and 0.4 or 1
        panel = panel + dt / 2000 * (room + fan_cools * oven.panel * (J_t - room) - panel)

        -- the row
        if on > 0.5 then
            hold_amps = amps * (f.half and 0.707 or 1)
        end
        if t % run.every < dt then
            local at_instant = on > 0.5 and amps * (f.half and 0.707 or 1) or 0
            take(t, {
                temperature = not dead and display or nil, word = dead and "" or word,
                setpoint = not dead and setpoint_at(run.plan, t) or nil,
                output = not dead and output or nil, called = called,
                volts = dead and f.dead_volts and 0 or oven_V,
                amps = (oven.held_amps and not dead and on > 0 and hold_amps) or at_instant,
                panel = panel, frozen = frozen ~= nil, shown_setpoint = f.setpoint_share and wanted or nil, load = power,
            })
        end
    end
end
