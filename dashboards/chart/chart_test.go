package chart

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"flywitness/internal/golden"
)

// curves is a chart with every kind of mark on numeric axes, with a gap, a peak of one sample and a value off the scale.
func curves() Chart {
	var x, y, low []float64
	for i := range 4000 {
		t := float64(i) / 100
		x, y, low = append(x, t), append(y, 3000+1000*math.Sin(t/3)), append(low, 2950+950*math.Sin(t/3))
	}
	y[1234] = 5200
	for i := 2000; i < 2100; i++ {
		y[i] = math.NaN()
	}
	return Chart{ID: "curves", Title: `A drive of a car called <script> & "Co"`, Caption: "How to read it.", X: Axis{Label: "Time", Unit: "min:s", Clock: true},
		Panels: []Panel{
			{Y: Axis{Label: "Engine speed", Unit: "rpm"}, Bands: []Band{{From: 5, To: 15, Label: "pull", Role: Reference}},
				Areas: []Area{{Name: "slip", Role: SlipRole, X: x, Low: low, High: y}},
				Lines: []Line{{Name: "measured", Role: Measured, X: x, Y: y}, {Name: "expected", Role: Expected, X: x, Y: low}},
				Rules: []Rule{{At: 4000, Label: "limit", Role: Reference}, {At: 30, Label: "here", Role: Reference, Vertical: true}}},
			{Y: Axis{Label: "State", Min: 0, Max: 1, Ticks: []Tick{{0.5, "engaged"}}}, Height: 0.3,
				Spans: []Span{{From: 0, To: 20, Low: 0.2, High: 0.8, Name: "engaged", Label: "3", Role: LockedRole}, {From: 20, To: 20.001, Low: 0, High: 1, Role: OpenRole}}},
		}}
}

func whiskers() Chart {
	return Chart{ID: "whiskers", Title: "Values with intervals", X: Axis{Label: "Inertia", Unit: "kg m²"},
		Panels: []Panel{{Y: Axis{Min: -1.5, Max: 0.5, Ticks: []Tick{{0, "overrun"}, {-1, "bench"}}}, Height: 0.3,
			Whiskers: []Whisker{{At: 0, Value: 0.16, Low: 0.15, High: 0.17, Name: "before", Role: Before, Sideways: true},
				{At: -1, Value: 0.11, Low: 0.1, High: 0.12, Name: "after", Role: After, Sideways: true}}}}}
}

func histogram() Chart {
	return Chart{ID: "histogram", Title: "Gearing", X: Axis{Label: "Gearing", Unit: "rpm per km/h", Zero: true},
		Panels: []Panel{{Y: Axis{Label: "Time", Unit: "s", Zero: true},
			Bars:  []Bar{{30, 31, 120, "time", Measured}, {31, 32, 300, "time", Measured}, {60, 61, 20, "", Measured}},
			Lines: []Line{{Name: "seen", Role: Before, Mark: Dots, X: []float64{30, 31, 60}, Y: []float64{100, 200, -3}}},
			Rules: []Rule{{At: 31.2, Label: "4", Role: Reference, Vertical: true}}}}}
}

func TestGoldenPictures(t *testing.T) {
	for _, c := range []Chart{curves(), whiskers(), histogram(), {ID: "empty", Title: "Nothing"}} {
		golden.Same(t, "testdata/"+c.ID+".wide.svg", []byte(c.Inline(Wide)))
		golden.Same(t, "testdata/"+c.ID+".narrow.svg", []byte(c.Inline(Narrow)))
	}
	var b bytes.Buffer
	if err := Write(&b, "svg", curves(), whiskers()); err != nil {
		t.Fatal(err)
	}
	golden.Same(t, "testdata/file.svg", b.Bytes())
}

func TestInlinePictureObeysAStrictPage(t *testing.T) {
	s := string(curves().Inline(Wide))
	for _, bad := range []string{"style=", "<script", "font-family", "<?xml", "width=\"720pt"} {
		if strings.Contains(s, bad) {
			t.Errorf("the picture contains %q", bad)
		}
	}
	if !strings.Contains(s, `aria-label="A drive of a car called &lt;script&gt;`) {
		t.Error("the title is not there, escaped")
	}
	known := map[string]bool{"none": true}
	for _, r := range Recolourings() {
		known[r.Light] = true
	}
	for _, part := range strings.Split(s, `="#`)[1:] {
		if c := "#" + part[:6]; !known[c] {
			t.Errorf("colour %s has no dark counterpart", c)
		}
	}
}

func TestFileFormats(t *testing.T) {
	for format, magic := range map[string]string{"png": "\x89PNG\r\n", "pdf": "%PDF-", "svg": "<?xml"} {
		var b bytes.Buffer
		if err := Write(&b, format, whiskers()); err != nil || !strings.HasPrefix(b.String(), magic) {
			t.Errorf("%s: %v, begins with %.8q", format, err, b.String())
		}
		if strings.Contains(b.String(), fmt.Sprint("D:", time.Now().Year())) {
			t.Errorf("%s carries the date of its making", format)
		}
		var once, again bytes.Buffer
		if err := errors.Join(Write(&once, format, histogram(), whiskers()), Write(&again, format, histogram(), whiskers())); err != nil || !bytes.Equal(once.Bytes(), again.Bytes()) {
			t.Errorf("%s differs from run to run, %v", format, err)
		}
	}
	if err := Write(&bytes.Buffer{}, "bmp", whiskers()); err == nil || !strings.Contains(err.Error(), "svg, png or pdf") {
		t.Errorf("an unknown format: %v", err)
	}
	if err := Write(&bytes.Buffer{}, "svg"); err == nil {
		t.Error("no chart is not an error")
	}
}

func TestThinKeepsPeaksGapsAndEnds(t *testing.T) {
	c := curves()
	l := c.Panels[0].Lines[0]
	x, y := thin(l.X, l.Y, 0, 40, 100)
	if len(x) > 420 || len(x) != len(y) {
		t.Fatalf("%d points are left for 100 columns", len(x))
	}
	peak, gaps := 0.0, 0
	for i, v := range y {
		if math.IsNaN(v) {
			gaps++
		} else {
			peak = math.Max(peak, v)
		}
		if i > 0 && x[i] < x[i-1] {
			t.Fatalf("x runs backwards at %d", i)
		}
	}
	if peak != 5200 || gaps != 1 || x[0] != l.X[0] || x[len(x)-1] != l.X[len(l.X)-1] {
		t.Errorf("peak %g, %d gaps, from %g to %g", peak, gaps, x[0], x[len(x)-1])
	}
	back := []float64{3, 2, 1, 0, 1}
	if bx, _ := thin(back, back, 0, 3, 1); len(bx) != 5 {
		t.Error("a curve that runs backwards was thinned")
	}
}

func TestTicksAreRoundAndFew(t *testing.T) {
	for _, c := range []struct {
		axis   Axis
		lo, hi float64
		want   string
	}{
		{Axis{}, 0, 100, "0 20 40 60 80 100"},
		{Axis{}, -0.013, 0.02, "\u22120.01 0.00 0.01 0.02"},
		{Axis{}, 812, 6790, "2000 4000 6000"},
		{Axis{Clock: true}, 0, 1180, "0:00 5:00 10:00 15:00"},
		{Axis{Clock: true}, 418, 431, "7:00 7:05 7:10"},
		{Axis{}, 1, 1, ""},
	} {
		var got []string
		for _, t := range c.axis.ticks(c.lo, c.hi, 5) {
			got = append(got, t.Label)
		}
		if c.want != "" && strings.Join(got, " ") != c.want {
			t.Errorf("%g to %g: %q, want %q", c.lo, c.hi, got, c.want)
		}
	}
}

func TestCompactKeepsThePlace(t *testing.T) {
	got := compact(` d="M10.04,20L10.26,20.31L10.26,19.9L-5.5,19.9L10,20Z"`)
	if want := ` d="M10 20l.3 .3 0-.4-15.8 0 15.5 .1z"`; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	// A long slow slope ends where it should: rounding must not add up.
	long := " d=\"M0,0"
	for i := 1; i <= 1000; i++ {
		long += fmt.Sprintf("L%g,%g", float64(i)*0.34, float64(i)*0.26)
	}
	x, y := 0.0, 0.0
	for _, m := range regexp.MustCompile(`-?[0-9]*\.?[0-9]+ ?-?[0-9]*\.?[0-9]+`).FindAllString(strings.TrimPrefix(compact(long+`"`), ` d="M0 0`), -1) {
		f := regexp.MustCompile(`-?[0-9]*\.?[0-9]+`).FindAllString(m, 2)
		dx, _ := strconv.ParseFloat(f[0], 64)
		dy, _ := strconv.ParseFloat(f[1], 64)
		x, y = x+dx, y+dy
	}
	if math.Abs(x-340) > 0.06 || math.Abs(y-260) > 0.06 {
		t.Errorf("the slope ends at %g, %g", x, y)
	}
}
