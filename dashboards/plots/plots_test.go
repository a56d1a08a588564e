package plots

import (
	"math"
	"strings"
	"testing"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/compare"
	"flywitness/analysis/inertia"
	"flywitness/analysis/slip"
	"flywitness/analysis/stats"
	"flywitness/dashboards/chart"
	"flywitness/dashboards/internal/sample"
	"flywitness/drive"
	"flywitness/figure"
	"flywitness/internal/golden"
)

func TestGoldenPictures(t *testing.T) {
	s, c := sample.Slip(true), sample.Compare()
	promised, rating := 260.0, 340.0
	for name, picture := range map[string]chart.Chart{
		"pull": Pull(s, s.Pulls[1], "monday", figure.Metric), "pull-us": Pull(s, s.Pulls[1], "", figure.US), "ladder": Ladder(sample.Calibration(), s.Traces, figure.Metric),
		"runs": Runs(c), "residuals": Residuals(c), "methods": Methods(c.Before, c.After, figure.Metric), "by-gear": ByGear(c, figure.Metric), "kinds": Kinds(c.Before, c.After)[0],
		"capacity": Capacity([]Side{{"before", s}, {"after", sample.Slip(false)}}, &promised, figure.Metric), "rays": Rays(sample.Calibration(), s, figure.US),
		"full-load": FullLoad(c.Torque, &rating, figure.Metric),
	} {
		golden.Same(t, "testdata/"+name+".svg", []byte(picture.Inline(chart.Narrow)))
	}
}

// Slip is shaded where an event that counts was found, and nowhere else.
func TestPullShadesOnlySlip(t *testing.T) {
	f := sample.Slip(true)
	p, e := f.Pulls[1], f.Events[1]
	shaded := func() (n int) {
		areas := Pull(f, p, "", figure.Metric).Panels[0].Areas
		if len(areas) == 0 {
			return 0
		}
		a := areas[0]
		for i, x := range a.X {
			if !math.IsNaN(a.High[i]) {
				n++
				if x < e.Start-0.31 || x > e.End+0.31 {
					t.Errorf("shaded at %g s, outside the event", x)
				}
			}
		}
		return n
	}
	if shaded() == 0 {
		t.Error("nothing is shaded")
	}
	f.Events[1].Kind = "wheelspin"
	if n := shaded(); n != 0 {
		t.Errorf("wheelspin is shaded as slip at %d points", n)
	}
}

func TestSmallestSlipIsInThePicture(t *testing.T) {
	f := sample.Slip(false)
	c := Pull(f, f.Pulls[0], "", figure.Metric)
	if r := c.Panels[1].Rules; len(r) != 1 || r[0].At != 1.3 || !strings.Contains(r[0].Label, "1.3 %") {
		t.Errorf("rules %+v", r)
	}
	if c.Panels[1].Y.Max < 3*1.3 {
		t.Errorf("the slip axis ends at %g: noise would fill it", c.Panels[1].Y.Max)
	}
}

// Brought together, both sides of the invented car lie on one curve: the estimated ratio is the true one there.
func TestRunsAreBroughtTogether(t *testing.T) {
	c := Runs(sample.Compare())
	ends := func(p chart.Panel) (before, after float64) {
		for _, l := range p.Lines {
			if x := l.X[len(l.X)-1]; l.Role == chart.After {
				after += x / 7
			} else {
				before += x / 7
			}
		}
		return before, after
	}
	before, after := ends(c.Panels[0])
	if after/before > 0.82 || after/before < 0.72 {
		t.Errorf("as driven: %g and %g s", before, after)
	}
	before, after = ends(c.Panels[1])
	if math.Abs(after/before-1) > 0.03 {
		t.Errorf("brought together: %g and %g s", before, after)
	}
}

func TestNothingToDrawDrawsNothing(t *testing.T) {
	empty := &slip.Finding{Pulls: []slip.Pull{{Input: 3}}, Traces: []slip.Trace{{}}}
	for name, c := range map[string]chart.Chart{
		"pull of an input without trace": Pull(empty, empty.Pulls[0], "", figure.Metric),
		"ladder without gears":           Ladder(&calibrate.Calibration{Gears: []calibrate.Gear{{Gear: 1}}}, nil, figure.Metric),
		"runs without fit":               Runs(&compare.Finding{}), "residuals": Residuals(&compare.Finding{}),
		"methods": Methods(nil, &inertia.Finding{Methods: []inertia.Method{{Name: "overrun"}}}, figure.Metric),
		"gears":   ByGear(&compare.Finding{}, figure.Metric), "capacity without torque": Capacity([]Side{{"", empty}}, nil, figure.Metric), "rays": Rays(nil, empty, figure.Metric), "full load": FullLoad(nil, nil, figure.Metric), "log": Log(&drive.Log{}, nil, figure.Metric),
	} {
		if len(c.Panels) != 0 {
			t.Errorf("%s: %d panels", name, len(c.Panels))
		}
	}
	if k := Kinds(nil, &inertia.Finding{}); len(k) != 0 {
		t.Errorf("%d pictures of no runs", len(k))
	}
	if s := string(Drive(slip.Trace{}, "", figure.Metric).Inline(chart.Wide)); !strings.HasPrefix(s, "<svg") {
		t.Errorf("an empty drive: %.40q", s)
	}
}

func TestLogShowsEveryChannelOnItsOwnClock(t *testing.T) {
	f := sample.Slip(true)
	l := &drive.Log{Channels: []*drive.Channel{{Name: drive.EngineSpeed, T: []float64{0, 1, 2}, V: []float64{1, 2, 3}}, {Name: drive.VehicleSpeed, T: []float64{0.5, 1.5}, V: []float64{10, 20}},
		{Name: drive.CoolantTemp, T: []float64{0.7, 60}, V: []float64{80, 90}}, {Name: "<script>", T: []float64{0, 1}, V: []float64{1, 1}}, {Name: "", T: []float64{0, 1}, V: []float64{1, 1}}}}
	c := Log(l, f, figure.Metric)
	var titles []string
	for _, p := range c.Panels {
		titles = append(titles, p.Y.Title())
	}
	if got := strings.Join(titles, "|"); got != "Engine speed, rpm|Road speed, km/h|Gear and clutch|Coolant, °C|<script>|?" {
		t.Errorf("panels %q", got)
	}
	if len(c.Panels[0].Bands) != len(f.Events) || c.Panels[3].Lines[0].X[0] != 0.7 {
		t.Errorf("bands %d, coolant begins at %g", len(c.Panels[0].Bands), c.Panels[3].Lines[0].X[0])
	}
	if s := string(c.Inline(chart.Wide)); strings.Contains(s, "<script>") || !strings.Contains(s, "&lt;script&gt;") {
		t.Error("a channel's name is not escaped in the picture")
	}
}

// A claim in kilograms stands in the panel of kilograms, in the gear it was made for, and nowhere else.
func TestClaimBesideTheMeasurement(t *testing.T) {
	f := sample.Compare()
	c := ByGear(f, figure.Metric)
	for i, p := range c.Panels {
		n := 0
		for _, w := range p.Whiskers {
			if w.Name == "promised" {
				n++
				if w.At != 1 || w.Value != 95 {
					t.Errorf("the promise stands at %g, %g", w.At, w.Value)
				}
			}
		}
		if want := map[bool]int{true: 1}[i == 0]; n != want {
			t.Errorf("panel %d shows %d promises", i, n)
		}
	}
	f.ByGear[0].EquivalentMass = nil
	f.ByGear[1].EquivalentMass = stats.Normal(1, 0)
	ByGear(f, figure.US)
}

// Short free revs and long falls in gear each fill their own picture.
func TestRunsOfEveryKindFillTheirPicture(t *testing.T) {
	f := sample.Compare()
	f.After.Runs = append(f.After.Runs, inertia.Run{Kind: inertia.Overrun, Used: true, T: []float64{0, 12, 24}, RPM: []float64{4000, 3000, 2000}})
	charts := Kinds(f.Before, f.After)
	if len(charts) != 2 {
		t.Fatalf("%d pictures", len(charts))
	}
	for _, c := range charts {
		longest := 0.0
		for _, p := range c.Panels {
			for _, l := range p.Lines {
				longest = max(longest, l.X[len(l.X)-1])
			}
		}
		if long := c.Title != "Free revs falling"; long != (longest > 20) {
			t.Errorf("%s lasts up to %g s", c.Title, longest)
		}
	}
}

// Each side has its own dots, its own rating and its own torque; the promise stands for itself. What is no slip is not drawn as slip.
func TestCapacityKeepsTheSidesApart(t *testing.T) {
	before, after := sample.Slip(true), sample.Slip(false)
	old, new, promised := 220.0, 340.0, 300.0
	before.TorqueRating, after.TorqueRating = &old, &new
	c := Capacity([]Side{{"before", before}, {"after", after}}, &promised, figure.Metric)
	rules := map[string]float64{}
	for _, r := range c.Panels[0].Rules {
		rules[r.Name] = r.At
	}
	if rules["rated for 220 N m"] != 220 || rules["rated for 340 N m"] != 340 || rules["promised 300 N m"] != 300 || len(rules) != 3 {
		t.Errorf("rules %v", rules)
	}
	if w := c.Panels[1].Whiskers; len(w) != 3 || w[0].Value != 168 || w[1].Value != 176 || w[2].Value != 214 || w[2].Role != chart.After {
		t.Errorf("found %+v", w)
	}
	most := func(side *slip.Finding) (top float64) {
		_, pct := carried(side)
		for _, v := range pct {
			top = max(top, v)
		}
		return top
	}
	if most(before) < 6 || most(after) > 2 {
		t.Errorf("most slip %g before, %g after", most(before), most(after))
	}
	for i := range before.Events {
		before.Events[i].Kind = "wheelspin"
	}
	if most(before) > 3 {
		t.Errorf("wheelspin is drawn as slip of %g %%", most(before))
	}
}

// In miles per hour the rays are the same lines: the dots of an engaged clutch lie on them.
func TestRaysMeetTheDots(t *testing.T) {
	for _, u := range []figure.Units{figure.Metric, figure.US} {
		c := Rays(sample.Calibration(), sample.Slip(false), u)
		factor, _ := u.In(1, "km/h")
		off, n := 0, 0
		for _, l := range c.Panels[0].Lines {
			for i := range l.X {
				if l.Mark != chart.Dots || l.X[i] < 30*factor {
					continue
				}
				near := math.Inf(1)
				for _, k := range sample.Gearing {
					near = min(near, math.Abs(l.Y[i]/(l.X[i]/factor*k)-1))
				}
				if n++; near > 0.03 {
					off++
				}
			}
		}
		if n < 1000 || off > n/50 {
			t.Errorf("%s: %d of %d dots lie off every gear", u, off, n)
		}
	}
}

// One set of logs is of no side: no line and no interval of it is called before or after.
func TestOneSetIsOfNoSide(t *testing.T) {
	f := sample.Compare().After
	for _, charts := range [][]chart.Chart{Kinds(nil, f), Kinds(f, nil), {Methods(nil, f, figure.Metric), Methods(f, nil, figure.Metric)}} {
		seen := 0
		for _, c := range charts {
			for _, p := range c.Panels {
				for _, l := range p.Lines {
					if seen++; l.Name != "" {
						t.Errorf("%s: a line is called %q", c.Title, l.Name)
					}
				}
				for _, x := range p.Whiskers {
					if seen++; x.Name != "" {
						t.Errorf("%s: an interval is called %q", c.Title, x.Name)
					}
				}
				for _, tick := range p.Y.Ticks {
					if strings.Contains(tick.Label, "after") || strings.Contains(tick.Label, "before") {
						t.Errorf("%s: %q", c.Title, tick.Label)
					}
				}
			}
		}
		if seen == 0 {
			t.Error("nothing is drawn")
		}
	}
}
