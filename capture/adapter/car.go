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
	var format obd.Format
	ok := false
	r, err := a.insist(ctx, "0100", func(r Reply) bool {
		lines, _ := r.data()
		format, ok = obd.Guess(lines)
		return ok
	})
	if err != nil {
		return a.noCar(err)
	}
	if !ok {
		return a.noCar(&Failure{Search, "the answer to 01 00 was " + r.words(), nil})
	}
	car := Car{Format: format}
	if err := a.nameProtocol(ctx, &car); err != nil {
		return err
	}
	lines, _ := r.data()
	msgs, _ := car.Format.Messages(lines)
	for _, step := range []func() error{
		func() error { return a.chooseUnit(ctx, &car, msgs) },
		func() error { return a.address(ctx, &car) },
		func() error { return a.learnSupport(ctx, &car, msgs) },
	} {
		if err := step(); err != nil {
			return err
		}
	}
	a.Car = car
	if err := a.dropHeaders(ctx); err != nil {
		return err
	}
	if err := a.tryRoadSpeed(ctx); err != nil {
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
	_, undo := (&Car{Format: obd.Format{Link: a.Car.Format.Link, Headers: true}, Engine: a.Car.Engine}).addressing()
	for _, command := range append(undo, "ATSP0", "ATH1") {
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
	if !r.has(Data) {
		return a.noCar(&Failure{Search, "the answer to 01 00 was " + r.words(), nil})
	}
	for _, command := range a.Car.commands {
		if _, err := a.command(ctx, command); err != nil {
			return err
		}
	}
	for range learnTries {
		if _, err = a.Query(ctx, obd.EngineSpeed); StepOf(err) != AskAgain {
			break
		}
	}
	if err != nil {
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

// voltage asks for the voltage at the diagnostic socket; ok is false when the adapter does not tell.
func (a *Adapter) voltage(ctx context.Context) (volts float64, ok bool) {
	r, err := a.command(ctx, "ATRV")
	if err != nil {
		return 0, false
	}
	v, err := strconv.ParseFloat(strings.TrimRight(strings.ToUpper(r.firstText()), "V"), 64)
	return v, err == nil && v > 0
}
