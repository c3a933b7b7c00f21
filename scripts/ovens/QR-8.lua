-- The bench-top oven of an invented shop, for trying things out: no such oven exists.
return {
    name = "QR-8",
    note = "invented: Quarry Road Ovens and its ovens exist only in this program's examples",
    supply = { volts = "240V", circuit = "20A", shared = false },
    elements = {
        { watts = "1800W", at = "240V", alloy = "FeCrAl" },
        { watts = "1800W", at = "240V", alloy = "FeCrAl" },
    },
    wiring = "parallel",
    sensor = { type = "K", extension = "K", gauge = "14AWG", depth = "2in" },
    controller = {
        input = "K", period = "2s", degrees = "F", on_sensor_break = "off", ramps = true, log = true,
    },
    chamber = { width = "8in", height = "8in", depth = "12in", limit = "2100F" },
    lining = { wall = "2.5in fibre board", floor = "2.5in insulating firebrick" },
    heat_up = {
        { to = "500F", within = "2min 45s" },
        { to = "1000F", within = "8min" },
        { to = "1500F", within = "16min" },
        { to = "2000F", within = "28min" },
    },
    fitted = {
        door_switch = true, contactor = true, limiter = false, element_switch = true,
        element_protector = "20A", control_fuse = "5A fast", panel_cutout = true, fan = "thermostat",
        check_hole = false, output_lamp = true, relay_lamp = true,
    },
    controls = { amps = "0.4A" },
}
