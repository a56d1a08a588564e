package adapter

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"flywitness/capture/obd"
)

// Car is what the adapter learnt of the car.
type Car struct {
	Protocol string // as a person calls it
	Format   obd.Format
	Engine   uint32      // source of the control unit that gives engine speed; 0 without headers
	Units    int         // control units that answered
	Support  obd.Support // parameters of that control unit
	Several  bool        // it answers several parameters in one request

	number   byte     // that the adapter gives to the protocol; 0 while unknown
	commands []string // settings that were made for this car
	alone    bool     // no other control unit is heard
}

// searchTime is how long a search through all protocols may take; the slow start of a K-line alone takes 5 s.
const searchTime = 30 * time.Second

// protocols are the numbers that AT-command adapters give to protocols (common practice, no source).
var protocols = map[byte]struct {
	name string
	link obd.Link
}{
	'1': {"SAE J1850 PWM", obd.J1850},
	'2': {"SAE J1850 VPW", obd.J1850},
	'3': {"ISO 9141-2", obd.KLine},
	'4': {"ISO 14230-4, slow start", obd.KLine},
	'5': {"ISO 14230-4, fast start", obd.KLine},
	'6': {"ISO 15765-4, 11 bit, 500 kbit/s", obd.CAN11},
	'7': {"ISO 15765-4, 29 bit, 500 kbit/s", obd.CAN29},
	'8': {"ISO 15765-4, 11 bit, 250 kbit/s", obd.CAN11},
	'9': {"ISO 15765-4, 29 bit, 250 kbit/s", obd.CAN29},
}

// FindCar searches the protocol, chooses the control unit that gives engine speed, and learns what it supports.
// The error is ErrNoCar (in a Failure that says why) while the ignition is off.
func (a *Adapter) FindCar(ctx context.Context) error {
	a.counts = newCountMemory()
	if err := a.undo(ctx); err != nil {
		return err
	}
	r, err := a.ask(ctx, "0100", searchTime)
	if err := after(r, err); err != nil {
		return a.noCar(err)
	}
	lines, _ := r.Data()
	format, ok := obd.Guess(lines)
	if !ok {
		return a.noCar(&Failure{Search, "the answer to 01 00 was " + r.Words(), nil})
	}
	car := Car{Format: format}
	if err := a.nameProtocol(ctx, &car); err != nil {
		return err
	}
	msgs, _ := car.Format.Messages(lines)
	if err := a.chooseUnit(ctx, &car, msgs); err != nil {
		return err
	}
	if err := a.learnSupport(ctx, &car); err != nil {
		return err
	}
	a.Car = car
	if err := a.dropHeaders(ctx); err != nil {
		return err
	}
	if car.Format.Link == obd.KLine || car.Format.Link == obd.J1850 {
		return nil
	}
	return a.trySeveral(ctx)
}

// undo takes back what an earlier search has set for the car.
func (a *Adapter) undo(ctx context.Context) error {
	if len(a.Car.commands) == 0 && a.Car.number == 0 {
		return nil
	}
	for _, command := range []string{"ATSP0", "ATH1", "ATAR", "ATSH7DF"} {
		if _, err := a.command(ctx, command); err != nil {
			return err
		}
	}
	a.Car = Car{}
	return nil
}

// resumeTime is how long the start of a bus whose protocol is known may take.
const resumeTime = 8 * time.Second

// Resume finds again a car that FindCar has found: the bus is started and the settings for the car are made, without
// learning it all anew. The error is as FindCar's.
func (a *Adapter) Resume(ctx context.Context) error {
	if a.Car.number == 0 {
		return a.FindCar(ctx)
	}
	r, err := a.ask(ctx, "0100", resumeTime)
	if err := after(r, err); err != nil {
		return a.noCar(err)
	}
	if !r.Has(Data) {
		return a.noCar(&Failure{Search, "the answer to 01 00 was " + r.Words(), nil})
	}
	for _, command := range a.Car.commands {
		if _, err := a.command(ctx, command); err != nil {
			return err
		}
	}
	if _, err := a.Query(ctx, obd.EngineSpeed); err != nil {
		return a.noCar(err)
	}
	return nil
}

// noCar marks failures of a search as a car that is silent; a lost adapter stays what it is.
func (a *Adapter) noCar(err error) error {
	if step := StepOf(err); step == ReOpenNow || step == SetUp {
		return err
	}
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	return &Failure{Search, fmt.Sprintf("switch the ignition on (%v)", err), ErrNoCar}
}

// nameProtocol asks which protocol was found; the number may stand behind an A for automatic.
func (a *Adapter) nameProtocol(ctx context.Context, car *Car) error {
	r, err := a.command(ctx, "ATDPN")
	if err != nil {
		return err
	}
	for _, l := range r.Lines {
		s := strings.TrimSpace(l.Text)
		if len(s) == 2 && s[0] == 'A' {
			s = s[1:]
		}
		if len(s) != 1 {
			continue
		}
		if p, ok := protocols[s[0]]; ok {
			car.Protocol, car.Format.Link, car.number = p.name, p.link, s[0]
			return nil
		}
	}
	car.Protocol = car.Format.Link.String()
	return nil
}

// chooseUnit finds the control unit that gives engine speed. Where several answer on CAN with short identifiers the others are shut out.
func (a *Adapter) chooseUnit(ctx context.Context, car *Car, masks []obd.Message) error {
	sources := map[uint32]bool{}
	for _, m := range masks {
		sources[m.Source] = true
	}
	car.Units = max(len(sources), 1)
	r, err := a.ask(ctx, "010C", searchTime)
	if err := after(r, err); err != nil {
		return a.noCar(err)
	}
	lines, _ := r.Data()
	msgs, merr := car.Format.Messages(lines)
	found := false
	for _, m := range msgs {
		if v, err := obd.Values(m.Data, []obd.PID{obd.EngineSpeed}); err != nil || len(v) == 0 {
			continue
		}
		if !found || m.Source < car.Engine {
			car.Engine, found = m.Source, true
		}
	}
	if !found {
		return &Failure{Search, fmt.Sprintf("no control unit gives engine speed (%s)", r.Words()), errors.Join(ErrNoCar, merr)}
	}
	if car.Units > 1 && car.Format.Headers && car.Format.Link == obd.CAN11 {
		return a.shutOut(ctx, car)
	}
	car.alone = car.Units == 1
	return nil
}

// shutOut addresses requests to the engine's control unit alone and lets only its replies through. ISO 15765-4: a unit
// that answers as 7E8 to 7EF is addressed as 7E0 to 7E7.
func (a *Adapter) shutOut(ctx context.Context, car *Car) error {
	if car.Engine < 0x7E8 || car.Engine > 0x7EF {
		return nil
	}
	for _, command := range []string{fmt.Sprintf("ATSH%X", car.Engine-8), fmt.Sprintf("ATCRA%X", car.Engine)} {
		r, err := a.command(ctx, command)
		if err != nil {
			return err
		}
		if !r.Has(OK) {
			a.Ignored = append(a.Ignored, command)
			continue
		}
		car.commands = append(car.commands, command)
	}
	r, err := a.ask(ctx, "010C", searchTime)
	if lines, _ := r.Data(); after(r, err) == nil && len(lines) == 1 {
		car.alone = true
		return nil
	}
	car.commands = nil
	for _, command := range []string{"ATAR", "ATSH7DF"} { // the car does not like it: everyone again
		if _, err := a.command(ctx, command); err != nil {
			return err
		}
	}
	return nil
}

// learnSupport reads the support masks. A mask that does not come is taken as empty.
func (a *Adapter) learnSupport(ctx context.Context, car *Car) error {
	for _, mask := range obd.MaskPIDs() {
		if mask != 0 && !car.Support.Has(mask) {
			break
		}
		r, err := a.ask(ctx, fmt.Sprintf("01%02X", byte(mask)), searchTime)
		if step := StepOf(after(r, err)); step >= SetUp {
			return after(r, err)
		}
		lines, _ := r.Data()
		msgs, _ := car.Format.Messages(lines)
		for _, m := range msgs {
			if m.Source == car.Engine {
				_ = car.Support.Add(mask, m.Data) // a refusal or a torn mask leaves the set as it is
			}
		}
	}
	return nil
}

// dropHeaders turns the identifiers off where only one control unit is heard: on CAN the adapter itself has checked the frame,
// and their characters cost up to 4 % of the poll rate. On the other links they bring the check byte, and stay.
func (a *Adapter) dropHeaders(ctx context.Context) error {
	if !a.Car.alone || !a.Car.Format.Headers || !a.Car.Format.Link.CAN() {
		return nil
	}
	r, err := a.command(ctx, "ATH0")
	if err != nil || !r.Has(OK) {
		return err
	}
	a.Car.Format.Headers = false
	if _, err = a.Query(ctx, obd.EngineSpeed); err == nil {
		a.Car.commands = append(a.Car.commands, "ATH0")
		return nil
	} else if StepOf(err) >= SetUp {
		return err
	}
	a.Car.Format.Headers = true
	_, err = a.command(ctx, "ATH1")
	return err
}

// trySeveral finds out whether the car answers engine speed and road speed in one request.
func (a *Adapter) trySeveral(ctx context.Context) error {
	answer, err := a.Query(ctx, obd.EngineSpeed, obd.VehicleSpeed)
	if step := StepOf(err); step >= SetUp {
		return err
	}
	a.Car.Several = err == nil && len(answer.Values) == 2
	return nil
}

// Voltage asks for the voltage at the diagnostic socket; ok is false when the adapter does not tell.
func (a *Adapter) Voltage(ctx context.Context) (volts float64, ok bool) {
	r, err := a.command(ctx, "ATRV")
	if err != nil {
		return 0, false
	}
	v, err := strconv.ParseFloat(strings.TrimRight(strings.ToUpper(r.FirstText()), "V"), 64)
	return v, err == nil && v > 0
}
