// Package sim is a car, its driver and a cheap data logger with known truth.
//
// Drive runs a plan of actions with a car on a road and returns what really happened (Truth); Logger.Record turns that
// into what a diagnostic link would have shown of it (drive.Log). Nothing here is read by the analysis: it serves the
// demo, the emulator and the tests. Physics is SI; the names that leave the package carry their unit. All chance comes
// from the *rand.Rand that is passed in, so a run repeats bit for bit.
//
// The engine is a net torque between a closed-throttle drag and a full-load curve; the clutch is two inertias and a
// friction contact that sticks or slips; the tyre creeps with tractive force and spins above its grip; the car is a
// mass with rotating wheels on a road with grades.
package sim
