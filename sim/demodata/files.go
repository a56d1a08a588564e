package main

// vehicleFile is what the workshop believes of the car; the mass is 2 % high.
const vehicleFile = `# Bench mule: the invented car of the demo.
[vehicle]
name = "Bench mule"
mass_kg = 1310              # papers, fuel and two people; not weighed
tyre = "205/55R16"
driven_wheels = 2
speed_source = "driven"

[engine]
idle_rpm = 850
limit_rpm = 6800
fuel = "petrol"
throttle = "wire"

[gearbox]
type = "manual"
ratios = [3.42, 1.95, 1.36, 1.03, 0.83]
final_drive = 4.06
efficiency = 0.95

[clutch]                    # the new one
torque_rating_nm = 340
outer_diameter_mm = 240
inner_diameter_mm = 155
clamp_load_n = 7200
friction_coefficient = 0.30
friction_faces = 2
`

// jobFile is the demo's job.
const jobFile = `title = "Clutch and flywheel, Bench mule"
vehicle = "mule.toml"
before = ["before/*.csv"]
after = ["after/*.csv"]
done = "240 mm disc and stronger cover, lighter single-mass flywheel"
operator = "test driver of the house"
place = "Quarry Lane Clutch Works"
customer = "M. Sample"
registration = "FW 26 MULE"
vin = "FLYWTNSS000MULE01"
odometer_km = 148620
date = "27 March 2026"
site = "road"
km_since_fitted = 620
bed_in_km = 500
foot_on_clutch = false
checklist = true

# What a pendulum said of the parts, had they been swung while the car was on the lift:
# [[part]]
# name = "flywheel"
# before_inertia_kgm2 = 0.138
# after_inertia_kgm2 = 0.083
# inertia_change_sd_kgm2 = 0.002

[claim]                     # what the customer was promised
equivalent_mass_kg = 110
gear = 1
torque_nm = 260

[shop]                      # stands at the head of the report
name = "Quarry Lane Clutch Works"
address = ["4 Quarry Lane", "Invented Town"]
logo = "logo.png"
`
