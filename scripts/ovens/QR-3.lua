-- The small oven of an invented shop, for trying things out: no such oven exists.
return {
    name = "QR-3",
    note = "invented: Quarry Road Ovens and its ovens exist only in this program's examples",
    supply = { volts = "120V", circuit = "15A" },
    elements = {
        { watts = "1300W", at = "120V", alloy = "FeCrAl" },
    },
    wiring = "single",
    sensor = { type = "K", extension = "K", gauge = "14AWG", depth = "1.5in" },
    controller = {
        input = "K", period = "2s", degrees = "F", on_sensor_break = "off", ramps = false, log = false,
    },
    chamber = { width = "5in", height = "5in", depth = "8in", limit = "1900F" },
    lining = { wall = "2in fibre board", floor = "1in insulating firebrick + 1in fibre board" },
    heat_up = {
        { to = "500F", within = "3min 15s" },
        { to = "1000F", within = "9min 30s" },
        { to = "1500F", within = "20min" },
    },
    fitted = {
        door_switch = false, contactor = false, limiter = false, element_switch = true,
        control_fuse = "3A fast", fan = false, output_lamp = true, relay_lamp = true,
    },
}
