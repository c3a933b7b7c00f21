#!/bin/sh
# Makes the demo traces in the current folder, the same bytes every time. All of it is invented: no such oven
# exists and none was run.
#     cd docs/examples/demo && OVENPROOF=../../../build/ovenproof sh make.sh
set -e
make_trace() {
    "${OVENPROOF:-ovenproof}" simulate QR-8 "$@"
}

power=time_s,temperature_C,setpoint_C,output_percent,supply_V,element_A
make_trace --seed 1 --minutes 60 --interval 10 --columns $power -o qr8-healthy.csv
make_trace --seed 2 --minutes 10 --interval 1 --fault sensor-reversed -o qr8-reversed-sensor.csv
make_trace --seed 3 --minutes 75 --interval 10 --columns $power --fault relay-half-wave -o qr8-half-wave.csv
make_trace --seed 4 --minutes 60 --interval 5 --resolution 1F --fault joint-loose-element=0.25ohm \
    --columns time_min,temperature_F,setpoint_F,output_percent,supply_V,element_A -o qr8-loose-joint.csv

# The drawing of one of them; `trace` ends with 1 because that run is not good.
"${OVENPROOF:-ovenproof}" trace qr8-reversed-sensor.csv --oven QR-8 --picture qr8-reversed-sensor.svg >/dev/null || [ $? = 1 ]
