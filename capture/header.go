package capture

import (
	"strconv"
	"strings"
	"time"

	"flywitness/capture/adapter"
	"flywitness/drive"
)

// Header returns the header of a session: what recorded it, what it was recorded from, and what the car tells of itself.
// Keys that the car does not tell are left out. extra comes last.
func Header(created time.Time, tool, vehicle string, a *adapter.Adapter, info adapter.Info, extra []drive.Field) []drive.Field {
	h := []drive.Field{
		{Key: "created", Value: created.Format("2006-01-02T15:04:05.000Z07:00")},
		{Key: "tool", Value: tool},
	}
	add := func(key, value string) {
		if value != "" {
			h = append(h, drive.Field{Key: key, Value: value})
		}
	}
	add("vehicle", vehicle)
	add("adapter", a.Identity+a.Rate())
	add("protocol", a.Car.Protocol)
	add("clock", "monotonic")
	add("control_units", strconv.Itoa(a.Car.Units))
	add("vin", info.VIN)
	add("calibration_id", strings.Join(info.Calibrations, " "))
	add("calibration_verification", strings.Join(info.Verifications, " "))
	if info.Lamp != nil {
		add("fault_lamp", map[bool]string{true: "on", false: "off"}[info.Lamp.On])
		add("fault_codes", strconv.Itoa(info.Lamp.Codes))
	}
	if info.WarmUps != nil {
		add("warm_ups_since_cleared", strconv.Itoa(*info.WarmUps))
	}
	if info.Distance != nil {
		add("distance_since_cleared_km", strconv.Itoa(*info.Distance))
	}
	if info.Voltage != nil {
		add("socket_voltage_v", strconv.FormatFloat(*info.Voltage, 'f', -1, 64))
	}
	return append(h, extra...)
}
