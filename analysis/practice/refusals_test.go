package practice

import "flywitness/finding"

// Saying is a refusal with what stands behind it. Its words are those of package finding.
type Saying struct {
	Code  finding.Code
	Entry Key  // what stands behind it in the table; "" where only this run was at fault
	Own   bool // its advice is its own and not that of the entry
}

// ofRuns and ofSets are the refusals in the order of the documentation: those of single runs, then those of
// whole sets.
var ofRuns = []Saying{
	{Code: finding.VehicleMoving}, {Code: finding.PeakTooLow}, {Code: finding.RoseAgain}, {Code: finding.CutShort},
	{finding.TooFewSamples, SlowLink, false},
	{Code: finding.SpanTooSmall}, {Code: finding.Gap}, {Code: finding.RateImplausible}, {Code: finding.ThrottleOpen},
	{finding.ThrottleHeldByCar, RevHang, false}, {Code: finding.KeptFuelling}, {Code: finding.DiffersFromOthers},
	{finding.NotRepeated, ForeignTorque, false},
	{finding.FootMixed, FootOnClutch, false}, {Code: finding.WholeSeconds}, {finding.ThrottleByWire, Rises, false},
	{finding.PictureOnly, Rises, false},
	{finding.Braked, FootBrake, false}, {Code: finding.Pushed}, {Code: finding.TooShort},
	{Code: finding.PullSpanTooSmall}, {Code: finding.PullTooShort},
	{finding.TorqueByGear, TorqueDiffers, false},
}

var ofSets = []Saying{
	{finding.SoftLimitMet, SoftLimit, false}, {finding.EngineStopped, StartStop, false},
	{finding.FootDiffers, FootOnClutch, true},
	{finding.DifferentVehicle, OtherCar, false}, {finding.CalibrationDiffers, OtherTune, true},
	{finding.StillLearning, OtherTune, true},
	{finding.NoBefore, OneSide, true}, {finding.NoAfter, OneSide, true},
}
