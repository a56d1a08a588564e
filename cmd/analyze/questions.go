package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strconv"
	"strings"

	"flywitness/cmd/internal/cli"
	"flywitness/vehicle"
	"flywitness/vehicle/tomlfile"

	"github.com/spf13/cobra"
)

// question is one thing that job --new wants to know: on a terminal it is asked, a flag answers it without asking.
type question struct {
	flag, usage string
	ask         func(d *draft) string // the question, "" where it need not be asked
	set         func(d *draft, answer string) error
}

// jobQuestions are all of them, in the order in which they are asked.
func jobQuestions() []question {
	text := func(s string) func(*draft) string { return func(*draft) string { return s } }
	return []question{
		{"name", "name of the car", text("Car, by a name of your own"), func(d *draft, s string) error { d.car.Name = s; return nil }},
		{"registration", "registration of the car", text("Registration"), func(d *draft, s string) error { d.job.Registration = s; return nil }},
		{"customer", "the customer, for the head of the report", text("Customer"), func(d *draft, s string) error { d.job.Customer = s; return nil }},
		{"done", "what is fitted or changed", text("What is fitted or changed"), func(d *draft, s string) error { d.job.Done = s; return nil }},
		{"date", "day of the drives, such as 2026-03-27", nil, func(d *draft, s string) error { d.job.Date = s; return nil }},
		{"title", "title of the report (default: clutch and flywheel, and the car)", nil, func(d *draft, s string) error { d.job.Title = s; return nil }},
		{"mass", "mass as driven, with fuel and people: 1310, or with its unit: 2888lb", massQuestion, setMass},
		{"gearbox", "manual, automatic, dual_clutch or cvt", text("Gearbox: manual, automatic, dual_clutch or cvt"), setGearbox},
		{"tyre", "size of the driven tyres, such as 205/55R16", tyreQuestion, func(d *draft, s string) error { d.car.Tyre = s; return nil }},
		{"ratios", "gear ratios from first up and then the final drive: 3.42 1.95 1.36 1.03 0.83 / 4.06", ratiosQuestion, setRatios},
		{"fuel", "petrol or diesel", text("Fuel: petrol or diesel"), func(d *draft, s string) error { d.car.Engine.Fuel = s; return nil }},
		{"limit-rpm", "engine speed where it cuts out", text("Engine speed where it cuts out, rpm"), func(d *draft, s string) (err error) {
			d.car.Engine.LimitRPM, err = plainNumber(s, "rpm")
			return err
		}},
		{"rating", "torque that the new clutch is rated for: 340, or with its unit: 250lbft", ratingQuestion, setRating},
		{"speed-limit", "the speed that may be driven: 100, or with its unit: 60mph", limitQuestion, setLimit},
	}
}

func massQuestion(d *draft) string {
	return "Mass as driven, with fuel and people, " + d.unit("kg", "lb") + " (papers will do; scales are better)"
}

func ratingQuestion(d *draft) string {
	return "Torque that the new clutch is rated for, " + d.unit("N m", "lbf ft")
}

func limitQuestion(d *draft) string {
	return "Speed that may be driven on the test road, " + d.unit("km/h", "mph")
}

// A gearing that was learnt holds ratios, final drive and tyre.
func tyreQuestion(d *draft) string {
	if len(d.learnt) > 0 {
		return ""
	}
	return "Size of the driven tyres, such as 205/55R16"
}

func ratiosQuestion(d *draft) string {
	if len(d.learnt) > 0 {
		return ""
	}
	return "Gear ratios from first up, then / and the final drive (Enter: learn them from the first log)"
}

// unit is the one that a bare number is taken in.
func (d *draft) unit(metric, us string) string {
	if d.us {
		return us
	}
	return metric
}

// quantity reads a number with or without its unit and returns it in SI.
func (d *draft) quantity(s, metric, us string) (float64, error) {
	if advice := tomlfile.CommaAdvice(s); advice != "" {
		return 0, errors.New(advice)
	}
	number := strings.TrimRight(s, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ/ ·-")
	spelling := strings.TrimSpace(s[len(number):])
	if spelling == "" {
		spelling = d.unit(metric, us)
	}
	wanted, _ := vehicle.ParseUnit(metric)
	unit, ok := vehicle.ParseUnit(spelling)
	if !ok || unit.Quantity != wanted.Quantity {
		return 0, fmt.Errorf("%q: write a number, in %s or %s", s, metric, us)
	}
	x, err := plainNumber(number, spelling)
	return unit.ToSI(x), err
}

func plainNumber(s, unit string) (float64, error) {
	if advice := tomlfile.CommaAdvice(strings.TrimSpace(s)); advice != "" {
		return 0, errors.New(advice)
	}
	x, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(s), unit)), 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) || x <= 0 {
		return 0, fmt.Errorf("%q: write a number above zero, in %s", s, unit)
	}
	return x, nil
}

func setMass(d *draft, s string) (err error) {
	d.car.Mass, err = d.quantity(s, "kg", "lb")
	d.car.Mass = math.Round(10*d.car.Mass) / 10
	return err
}

func setGearbox(d *draft, s string) error {
	var f gearboxFlag
	if err := f.Set(s); err != nil {
		return err
	}
	d.car.Gearbox.Type = f.kind()
	return nil
}

func setRatios(d *draft, s string) error {
	gears, final, ok := strings.Cut(s, "/")
	if !ok {
		return errors.New("write the ratios from first gear up, then / and the final drive: 3.42 1.95 1.36 1.03 0.83 / 4.06")
	}
	var ratios []float64
	for _, word := range strings.Fields(gears) {
		x, err := plainNumber(strings.TrimRight(word, ";"), "engine turns per turn")
		if err != nil {
			return err
		}
		ratios = append(ratios, x)
	}
	x, err := plainNumber(final, "engine turns per turn")
	if err != nil {
		return err
	}
	d.car.Gearbox.Ratios, d.car.Gearbox.FinalDrive, d.learnt = ratios, x, nil
	return nil
}

func setRating(d *draft, s string) error {
	x, err := d.quantity(s, "N m", "lbf ft")
	if err != nil {
		return err
	}
	if x > 20000 {
		return fmt.Errorf("%q: no clutch of a car holds that", s)
	}
	d.rating = math.Round(10*x) / 10
	return nil
}

func setLimit(d *draft, s string) (err error) {
	d.limit, err = d.quantity(s, "km/h", "mph")
	if err == nil && d.limit > 150 {
		err = fmt.Errorf("%q: no speed that is driven on a road", s)
	}
	return err
}

// answer fills the draft: from the flags first, then, on a terminal, by asking what they left open.
func (f *newJobFlags) answer(cmd *cobra.Command, d *draft) error {
	var lines *bufio.Reader
	if asks(cmd.InOrStdin(), cmd.ErrOrStderr()) {
		lines = bufio.NewReader(cmd.InOrStdin())
		fmt.Fprintln(cmd.ErrOrStderr(), "Enter alone leaves a question open; it can be filled in later.")
	}
	given := map[string]string{}
	for flag, answer := range f.answers {
		given[flag] = *answer
	}
	if err := f.take(d, given); err != nil {
		return cli.Usagef("--%v", err)
	}
	for _, q := range f.questions {
		if strings.TrimSpace(given[q.flag]) != "" {
			continue
		}
		if q.ask == nil || lines == nil {
			continue
		}
		text := q.ask(d)
		if text == "" {
			continue
		}
		more, err := q.put(d, text, lines, cmd.ErrOrStderr())
		if err != nil {
			return err
		}
		if !more {
			lines = nil
		}
	}
	d.entitle()
	return nil
}

// take fills the draft from answers that were given beforehand. An error begins with the question that it is about.
func (f *newJobFlags) take(d *draft, given map[string]string) error {
	for _, q := range f.questions {
		if answer := strings.TrimSpace(given[q.flag]); answer != "" {
			if err := q.accept(d, answer); err != nil {
				return fmt.Errorf("%s: %w", q.flag, err)
			}
		}
	}
	return nil
}

// entitle gives a job without a title the usual one.
func (d *draft) entitle() {
	if d.job.Title != "" {
		return
	}
	d.job.Title = usualTitle
	if d.car.Name != "" {
		d.job.Title += ", " + d.car.Name
	}
}

const usualTitle = "Clutch and flywheel"

// asks tells whether somebody sits there to answer.
func asks(in io.Reader, out io.Writer) bool {
	f, ok := in.(*os.File)
	if !ok {
		return false
	}
	_, reads := cli.Terminal(f)
	_, sees := cli.Terminal(out)
	return reads && sees
}

// put asks until the answer can be used; more is false when nobody answers any longer.
func (q question) put(d *draft, text string, lines *bufio.Reader, out io.Writer) (more bool, err error) {
	for {
		fmt.Fprintf(out, "%s: ", text)
		line, err := lines.ReadString('\n')
		answer := strings.TrimSpace(line)
		switch {
		case err != nil && answer == "":
			fmt.Fprintln(out)
			return false, nil
		case answer == "":
			return true, nil
		}
		if err := q.accept(d, answer); err != nil {
			fmt.Fprintln(out, "  "+cli.OneLine(err.Error()))
			continue
		}
		return true, nil
	}
}

// accept takes an answer if the vehicle file that it makes can be read; a refused one leaves the draft as it was.
func (q question) accept(d *draft, answer string) error {
	before, car := *d, *d.car
	err := q.set(d, answer)
	if err == nil {
		var data []byte
		if data, err = d.carTOML(); err == nil {
			_, _, err = vehicle.Parse(data, carFile)
		}
		var place *tomlfile.Error
		if errors.As(err, &place) { // the line of a file that nobody has seen yet
			err = errors.New(place.Message)
		}
	}
	if err != nil {
		*d = before
		*d.car = car
	}
	return err
}
