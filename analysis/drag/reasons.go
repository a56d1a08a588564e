package drag

import "fmt"

// Reason is the stable word for why a hold, or the correction, is not used.
type Reason string

// The reasons that concern one hold.
const (
	HoldShort    Reason = "hold_too_short"
	HoldUnsteady Reason = "hold_unsteady"
	HoldNoFlow   Reason = "hold_without_flow"
	HoldCold     Reason = "hold_cold"
	HoldEarly    Reason = "hold_soon_after_start"
	HoldOpenLoop Reason = "hold_open_loop"
	HoldRich     Reason = "hold_mixture_commanded"
	HoldDrifts   Reason = "hold_trim_drifts"
	HoldOdd      Reason = "hold_differs_from_others"
)

// The reasons that concern a sitting or the comparison. Those that ForbidRatio names take the free revs their vote: what they tell of is in the falls.
const (
	OneSideOnly      Reason = "holds_on_one_side_only"
	NoCommonSpeed    Reason = "holds_at_different_speeds"
	OtherFlow        Reason = "flow_read_differently"
	SittingDisagrees Reason = "holds_of_a_sitting_disagree"
	CoolantDiffers   Reason = "coolant_differs"
	MetersDisagree   Reason = "air_and_fuel_disagree"
	DragTooDifferent Reason = "drag_too_different"
	SpeedsDisagree   Reason = "hold_speeds_disagree"
	PressureInFalls  Reason = "fall_pressure_differs"
	ChargesApart     Reason = "voltage_differs_between_falls_and_holds"
	ChargesOneSide   Reason = "voltage_in_falls_differs"
	ConsumerOneSide  Reason = "consumer_in_falls_differs"
	FuelNotCut       Reason = "fuel_not_cut_in_falls"
	FuelCutDiffers   Reason = "fuel_cut_differs_in_falls"
	PartsChanged     Reason = "parts_change_flow"
	NoAnswer         Reason = "flow_does_not_answer_load"
	NotAgreeing      Reason = "sittings_agree_worse_corrected"
	IdleNoOil        Reason = "idle_without_oil_temperature"
	IdleMissing      Reason = "idle_missing"
	IdleDiffers      Reason = "idle_speed_differs"
)

// ForbidRatio tells whether a reason speaks against the free revs themselves, and not only against their correction.
func (r Reason) ForbidRatio() bool {
	return r == PressureInFalls || r == ChargesOneSide || r == FuelCutDiffers
}

// saying is what happened, a format for its values, and what to do.
type saying struct{ what, next string }

var sayings = map[Reason]saying{
	HoldShort:    {"held for only %.0f s", "hold it for 15 s, 10 at the least"},
	HoldUnsteady: {"engine speed wandered by %.0f rpm to either side", "find a place where the foot rests, and wait until the engine is steady"},
	HoldNoFlow:   {"there are too few values of what flows", "record air flow (parameter 10, or 0B or 04) beside engine speed, and the fuel trims (06, 07); of a diesel the fuel rate (5E)"},
	HoldCold:     {"the coolant was at %.0f C", "drive until it is warm, 80 C at the least"},
	HoldEarly:    {"it was held %.0f s after the engine was started", "wait three minutes: until then many engines burn late on purpose, to warm the catalyst"},
	HoldOpenLoop: {"the mixture was not controlled (fuel system status %.0f)", "wait until the engine is warm, and hold the speed without the accelerator moving"},
	HoldRich:     {"another mixture than the usual was commanded (lambda %.2f)", "wait a minute at idle and hold it again"},
	HoldDrifts:   {"the fuel trim moved by %.1f %% in the hold", "wait a minute at idle, for the tank's vapour to be burnt, and hold it again"},
	HoldOdd:      {"it differs by %.1f %% from the other holds at this speed", "something was switched on or off, a fan perhaps"},

	OneSideOnly:      {"the engine was held on the %s side only", "hold the same two speeds on both sides, before the falls and after them"},
	NoCommonSpeed:    {"the sittings share no engine speed at which it was held", "hold the same two speeds in every sitting of both sides"},
	OtherFlow:        {"what flows was read in different ways (%s and %s)", "record the same values on both sides"},
	SittingDisagrees: {"on the %s side the holds at %.0f rpm differ by %.1f %%", "hold that speed once more: the two that agree count"},
	CoolantDiffers:   {"the coolant was at %.0f C before and %.0f C after", "warm both sides alike"},
	MetersDisagree:   {"air and fuel tell changes that differ by %.1f %%: air meter, intake, a leak or the fuel changed", "find out what it was; then repeat one side with it as on the other"},
	DragTooDifferent: {"the held engine took %.1f %% %s after, more than a day does: late spark after a start, another tune, or something switched on",
		"wait three minutes after the start, switch everything off, and repeat"},
	SpeedsDisagree: {"the two speeds tell changes that differ by %.1f %%", "hold both again, without a fan or a heater coming on"},
	PressureInFalls: {"in the falls the manifold's pressure was %.0f kPa before and %.0f kPa after: the shut throttle, the cam or a leak changed",
		"swing the old and the new part on a pendulum; the falls are not comparable"},
	ChargesApart:   {"in the falls the voltage is %.2f V higher than in the holds: the battery is charged there, and the holds do not pay for it", "charge the battery and repeat"},
	ChargesOneSide: {"in the falls the voltage stands %.2f V further from that in the holds on one side than on the other: the battery was charged there", "charge the battery and repeat that side"},
	ConsumerOneSide: {"in the falls the voltage stands %.2f V further from that in the holds on one side than on the other: a fan or another consumer seems to have run in one and " +
		"not in the other", "wait until the fan rests, and repeat that side"},
	FuelNotCut:     {"fuel was not cut in the falls, on both sides", "warm up, and use revs in which the car cuts it; many do so only while rolling"},
	FuelCutDiffers: {"fuel was cut in the falls of one side and not in those of the other", "repeat the side whose falls were fuelled, fully warm"},
	PartsChanged:   {"the job changed what the flow rests on (%s)", "the falls stand alone; several sittings a side or a pendulum tell more"},
	NoAnswer:       {"on this car the drag changed by %.2f times what the flow did, and engines lie between 0.8 and 1.6: its flow does not tell the drag", "the falls stand alone"},
	IdleNoOil:      {"idle tells nothing of the drag without the oil's temperature", "hold the engine at two speeds"},
	IdleMissing:    {"the %s side has no five seconds of warm idle with what flows", "let it idle for twenty seconds before the falls and after them"},
	IdleDiffers:    {"it idled at %.0f rpm before and at %.0f rpm after", "warm both sides alike, consumers off"},
	NotAgreeing:    {"sittings of one side agree worse with the correction than without", "the falls stand alone"},
}

// Fact says what happened, with its values.
func (r Reason) Fact(values ...any) string { return fmt.Sprintf(sayings[r].what, values...) }

// Next says what to do about it.
func (r Reason) Next() string { return sayings[r].next }

// Refusal is a reason for which the correction is off, with its sentence.
type Refusal struct {
	Code Reason `json:"code"`
	What string `json:"what"`
	Next string `json:"next"`
}

func (r Reason) refusal(values ...any) Refusal { return Refusal{r, r.Fact(values...), r.Next()} }
