package adapter

import (
	"context"

	"flywitness/capture/obd"
)

// Info is what the car tells of itself once. A field that it does not tell is empty or nil.
type Info struct {
	VIN           string
	Calibrations  []string
	Verifications []string
	Lamp          *obd.Lamp
	WarmUps       *int
	Distance      *int     // km since the codes were cleared
	Voltage       *float64 // V at the diagnostic socket, as the adapter measures it
}

// Info asks the car for what identifies it. Only a lost adapter is an error: cars leave out what they do not have.
func (a *Adapter) Info(ctx context.Context) (Info, error) {
	var info Info
	for _, item := range []struct {
		item obd.Item
		to   func([]string)
	}{
		{obd.VIN, func(s []string) { info.VIN = s[0] }},
		{obd.CalibrationID, func(s []string) { info.Calibrations = s }},
		{obd.CalibrationVerification, func(s []string) { info.Verifications = s }},
	} {
		list, err := a.item(ctx, item.item)
		if err != nil {
			return info, err
		}
		if len(list) > 0 {
			item.to(list)
		}
	}
	data, err := a.single(ctx, obd.MonitorStatus)
	if err != nil {
		return info, err
	}
	if lamp, err := obd.DecodeLamp(data); err == nil {
		info.Lamp = &lamp
	}
	if data, err = a.single(ctx, obd.WarmUpsSinceCleared); err != nil {
		return info, err
	}
	if n, err := obd.DecodeWarmUps(data); err == nil {
		info.WarmUps = &n
	}
	if data, err = a.single(ctx, obd.DistanceSinceCleared); err != nil {
		return info, err
	}
	if n, err := obd.DecodeDistance(data); err == nil {
		info.Distance = &n
	}
	if v, ok := a.voltage(ctx); ok {
		info.Voltage = &v
	}
	return info, nil
}

// infoTries is how often what is asked only once is asked when no answer comes: a lost reply, or a car that lacks it.
const infoTries = 2

// item returns an item of service 09, nothing when the car does not have it.
func (a *Adapter) item(ctx context.Context, item obd.Item) ([]string, error) {
	for range infoTries {
		msgs, _, err := a.messages(ctx, obd.InfoRequest(item))
		if StepOf(err) >= SetUp {
			return nil, err
		}
		if list, err := obd.Info(a.ofEngine(msgs), item); err == nil && len(list) > 0 {
			return list, nil
		}
	}
	return nil, nil
}

// single returns the reply to one parameter, empty when the car does not have it.
func (a *Adapter) single(ctx context.Context, pid obd.PID) ([]byte, error) {
	if !a.Car.Support.MayHave(pid) {
		return nil, nil
	}
	for range infoTries {
		m, _, err := a.engineMessage(ctx, []byte{obd.CurrentData, byte(pid)})
		if StepOf(err) >= SetUp {
			return nil, err
		}
		if err == nil {
			return m.Data, nil
		}
	}
	return nil, nil
}

// ofEngine keeps the messages of the engine's control unit that are no refusals.
func (a *Adapter) ofEngine(msgs []obd.Message) []obd.Message {
	var kept []obd.Message
	for _, m := range msgs {
		if (!a.Car.Format.Headers || m.Source == a.Car.Engine) && !pending(m) {
			kept = append(kept, m)
		}
	}
	return kept
}
