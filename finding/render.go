package finding

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
	"sync"
	"text/template"

	"flywitness/figure"
)

// sentence is how a finding is said. The braces are those of package text/template; each value stands under its name:
//
//	{{.torque}}            with its unit, and the decimals that its unit has
//	{{.slip.Fixed 1}}      with so many decimals
//	{{.lasting.Digits 2}}  with so many significant digits
//	{{.off.Signed 0}}      with its sign
//	{{.low.Bare}} to {{.high}}, {{.low.Number 1}} to {{.high.Fixed 1}}  without its unit
//	{{.held.SD 0}}         the standard deviation of an estimate
//	{{.n.Times}}           once, twice, 3 times
//	{{if .hot}}, {{with .torque}}  a flag; a value that may be missing
type sentence struct {
	says    string  // what is the case
	next    string  // what to do about it; "" where says has it
	example []Value // every value that the sentence knows, as a log gave it
}

// language is every sentence. A second language is a second table.
type language map[Code]sentence

type compiled struct{ says, next *template.Template }

// helpers are what a sentence can do with a name: {{quoted .column}}.
var helpers = template.FuncMap{"quoted": strconv.Quote}

// english are the sentences, each compiled when it is first needed: a result says few of them.
var english = sync.OnceValue(func() map[Code]func() compiled {
	out := map[Code]func() compiled{}
	for _, table := range tables {
		for code, s := range table {
			parse := func(text string) *template.Template {
				return template.Must(template.New(string(code)).Funcs(helpers).Parse(text))
			}
			out[code] = sync.OnceValue(func() compiled { return compiled{parse(s.says), parse(s.next)} })
		}
	}
	return out
})

// render is the sentence of a finding. A sentence that cannot be made is the code in plain words; a test holds that
// there is none.
func render(f Finding, u figure.Units) string {
	compile, ok := english()[f.Code]
	if !ok {
		return strings.ReplaceAll(string(f.Code), "_", " ")
	}
	c := compile()
	data := map[string]any{}
	for _, v := range f.Values {
		data[v.Name] = v.in(u)
	}
	fill := func(t *template.Template) string {
		var b bytes.Buffer
		if err := t.Execute(&b, data); err != nil {
			return strings.ReplaceAll(string(f.Code), "_", " ")
		}
		return b.String()
	}
	switch f.part {
	case fact:
		return fill(c.says)
	case next:
		return fill(c.next)
	}
	says, then := fill(c.says), fill(c.next)
	if then == "" {
		return says
	}
	return says + ": " + then
}

// in is what the template sees of a value.
func (v Value) in(u figure.Units) any {
	switch v.kind {
	case aName:
		return v.text
	case aFlag:
		return v.on
	case aSaying, aList:
		return v.inner(u)
	}
	return shown{v, u}
}

// shown is a number on its way into a sentence.
type shown struct {
	Value
	u figure.Units
}

// Int is for comparisons within a sentence.
func (s shown) Int() int { return int(s.x) }

// String is the number with its unit.
func (s shown) String() string { return s.Fixed(units[s.Unit].decimals) }

// Bare is the number without its unit.
func (s shown) Bare() string { return s.Number(units[s.Unit].decimals) }

// Fixed has so many decimals, and the unit.
func (s shown) Fixed(decimals int) string { return s.withUnit(s.Number(decimals)) }

// Number has so many decimals and no unit.
func (s shown) Number(decimals int) string {
	return s.spanned(func(x float64) string { return s.written(x, figure.Round(x, decimals)) })
}

// spanned writes the number, or both ends of its range.
func (s shown) spanned(write func(x float64) string) string {
	low, high := s.span()
	from, to := write(low), write(high)
	if from == to {
		return from
	}
	return from + "–" + to
}

// Digits has so many significant digits at most, and the unit; never an exponent.
func (s shown) Digits(n int) string {
	return s.withUnit(s.spanned(func(x float64) string {
		short, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', n, 64), 64)
		if err != nil {
			short = x
		}
		return s.written(x, strconv.FormatFloat(short, 'f', -1, 64))
	}))
}

// Signed has its sign, so many decimals and the unit.
func (s shown) Signed(decimals int) string {
	t := s.Fixed(decimals)
	if !strings.HasPrefix(t, "-") {
		t = "+" + t
	}
	return t
}

// AtLeast is the lower end of an estimate's interval, cut off downwards: what is sure. The estimate itself where
// its interval goes down to nothing.
func (s shown) AtLeast() string {
	if s.est == nil || !(s.est.CI95[0] > 0) {
		return s.String()
	}
	low, _ := s.u.In(s.est.CI95[0], string(s.Unit))
	return s.withUnit(figure.Round(math.Floor(low), 0))
}

// SD is the standard deviation of an estimate with so many decimals, and the unit.
func (s shown) SD(decimals int) string {
	sd := 0.0
	if s.est != nil {
		sd = s.est.SD
	}
	return s.withUnit(s.written(sd, figure.Round(sd, decimals)))
}

// Measured is an estimate to what its standard deviation supports, with the unit.
func (s shown) Measured() string { return s.withUnit(s.MeasuredBare()) }

// MeasuredBare is the same without the unit.
func (s shown) MeasuredBare() string {
	sd := 0.0
	if s.est != nil {
		sd = s.est.SD
	}
	x, _ := s.u.In(s.x, string(s.Unit))
	zero, _ := s.u.In(0, string(s.Unit))
	sd, _ = s.u.In(sd, string(s.Unit))
	return figure.Number(x, sd-zero)
}

// Stated is what somebody stated, as it was stated but for what a conversion leaves behind four digits.
func (s shown) Stated() string {
	if y, unit := s.u.In(s.x, string(s.Unit)); unit != string(s.Unit) {
		return s.withUnit(figure.Significant(y, 3))
	}
	if math.Abs(s.x) >= 1000 {
		return s.Fixed(0)
	}
	return s.Digits(4)
}

// Ordinal is the name of a gear: first gear, gear 7.
func (s shown) Ordinal() string {
	names := [...]string{"neutral", "first gear", "second gear", "third gear", "fourth gear", "fifth gear", "sixth gear"}
	if n := s.Int(); n >= 0 && n < len(names) {
		return names[n]
	}
	return fmt.Sprintf("gear %d", s.Int())
}

// Times is how often: once, twice, 3 times.
func (s shown) Times() string {
	switch s.Int() {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return fmt.Sprintf("%d times", s.Int())
}

// written is x in the reader's units, to as many digits as it has in metric ones: two at least, three at most.
func (s shown) written(x float64, metric string) string {
	y, unit := s.u.In(x, string(s.Unit))
	if unit == string(s.Unit) {
		return metric
	}
	digits := 0
	for _, r := range metric {
		if r >= '0' && r <= '9' {
			digits++
		}
	}
	return figure.Significant(y, min(3, max(2, digits)))
}

func (s shown) withUnit(number string) string {
	_, unit := s.u.In(0, string(s.Unit))
	switch unit {
	case "C", "F":
		unit = "°" + unit
	case "K": // a difference, which people read in degrees
		unit = "°C"
	case "mile":
		unit = "miles"
	}
	return figure.WithUnit(number, figure.Pretty(unit))
}

// finite is nil for what JSON has no number for.
func finite(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}
