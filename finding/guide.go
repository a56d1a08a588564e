package finding

// What a pull within the speed limit needs, or why there is none; and what the guided recording says with a quantity.
const (
	StateLimit     Code = "state_speed_limit"
	PeakTooHigh    Code = "torque_peak_too_high"
	NotCarried     Code = "torque_does_not_carry"
	PullTooBrief   Code = "pull_too_brief"
	NotReachable   Code = "pull_not_reachable"
	PlanNoVehicle  Code = "plan_needs_vehicle"
	PlanManualOnly Code = "plan_manual_only"
	PlanNoGearing  Code = "plan_needs_gearing"
	PlanNoLimit    Code = "plan_needs_engine_limit"
	PlanNoMass     Code = "plan_needs_mass"

	GuideWarmUp      Code = "guide_warm_up"
	GuideWarm        Code = "guide_warm"
	GuideWarming     Code = "guide_warming"
	GuideNotBeddedIn Code = "guide_not_bedded_in"
	GuidePull        Code = "guide_pull"
	GuideHeat        Code = "guide_heat"
)

var ofGuide = language{
	StateLimit: {says: "a pull is driven in the highest gear that stays within the speed limit: state the limit"},
	PeakTooHigh: {says: "a torque peak at {{.peak}} leaves no room below the limit of {{.limit}}; check both",
		example: []Value{EngineSpeed("peak", 6000), EngineSpeed("limit", 6500)}},
	NotCarried: {says: "{{.torque}} do not carry the car to {{.speed}} in gear {{.gear}}; check torque and road load",
		example: []Value{Torque("torque", 60), Speed("speed", 130), Gear(5)}},
	PullTooBrief: {says: "within this limit a pull in gear {{.gear}} lasts {{.lasting}}, which is too short to judge " +
		"by: use rollers or a closed course", example: []Value{Gear(2), Duration("lasting", 1.9)}},
	NotReachable: {says: "not reachable within this limit: in gear {{.gear}} the torque peak is passed at " +
		"{{.speed}}; use rollers or a closed course", example: []Value{Gear(2), Speed("speed", 74)}},
	PlanNoVehicle:  {says: "a pull cannot be planned without a vehicle file"},
	PlanManualOnly: {says: "only a manual gearbox is judged for slip"},
	PlanNoGearing:  {says: "a pull cannot be planned without tyre, ratios and final drive in the vehicle file"},
	PlanNoLimit:    {says: "a pull cannot be planned without limit_rpm under [engine] in the vehicle file"},
	PlanNoMass:     {says: "a pull cannot be planned without the mass in the vehicle file"},

	GuideWarmUp: {says: "drive gently until the coolant has {{.needed}}. (s and Enter passes a step over.)",
		example: []Value{Temperature("needed", 80)}},
	GuideWarm: {says: "Coolant {{.coolant}}: warm.", example: []Value{Temperature("coolant", 82)}},
	GuideWarming: {says: "Coolant {{.coolant}}, on to {{.needed.Bare}}.",
		example: []Value{Temperature("coolant", 61), Temperature("needed", 80)}},
	GuideNotBeddedIn: {says: "the clutch has {{.driven}} of the {{.needed}} that its maker asks for.",
		example: []Value{Distance("driven", 62), Distance("needed", 500)}},
	GuidePull: {says: "gear {{.gear}}, floored from {{.from}} ({{.from_speed}}) to {{.to}} ({{.to_speed}}): about " +
		"{{.lasting.Fixed 0}} and {{.road}} of free road, braking included",
		example: []Value{Gear(3), EngineSpeed("from", 2400), Speed("from_speed", 51), EngineSpeed("to", 4900),
			Speed("to_speed", 104), Duration("lasting", 7), Quantity("road", Metres, 350)}},
	GuideHeat: {says: "No more pulls: slip has left {{.heat}} in the clutch.",
		example: []Value{Quantity("heat", Kilojoules, 60)}},
}
