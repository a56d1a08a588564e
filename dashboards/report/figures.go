package report

import (
	"cmp"
	"fmt"
	"slices"
	"sync"

	"flywitness/analysis"
	"flywitness/analysis/calibrate"
	"flywitness/analysis/compare"
	"flywitness/analysis/slip"
	"flywitness/dashboards/chart"
	"flywitness/dashboards/plots"
	"flywitness/figure"
)

// Most pulls that get a picture on each side; all of them stand in the table.
const pullPictures = 3

// Most whole drives that get a picture on each side.
const drivePictures = 4

// A table with more rows is folded up, and left out in print: result.json has it all.
const foldAbove = 12

func (b *builder) groups() (out []figureGroup) {
	r, u := b.r, b.u
	if r.Compare != nil {
		out = append(out, b.inertia(r.Compare))
	}
	titles := map[string]string{"": "Clutch under load", "before": "Clutch under load, before the job", "after": "Clutch under load, after the job"}
	for _, f := range findings(r) {
		out = append(out, b.slip(f.Finding, titles[f.Name], f.Name))
	}
	torque := figureGroup{Title: "The engine"}
	torque.add(b.picture(fullLoad(r, u), nil))
	out = append(out, torque)
	if r.Inertia != nil {
		g := figureGroup{Title: "Rotating inertia"}
		for _, k := range plots.Kinds(nil, r.Inertia) {
			g.add(b.picture(k, nil))
		}
		g.add(b.picture(plots.Methods(nil, r.Inertia, u), nil))
		g.addTable(b.driftTable(r.Inertia, nil))
		g.addTable(b.runTable(r.Inertia, "Runs", ""))
		out = append(out, g)
	}
	if g := b.gearing(); len(g.Figures)+len(g.Tables) > 0 {
		out = append(out, g)
	}
	kept := out[:0]
	for _, g := range out {
		if len(g.Figures)+len(g.Tables) > 0 {
			kept = append(kept, g)
		}
	}
	return kept
}

// builder numbers the pictures as they come. They are drawn side by side.
type builder struct {
	r       *analysis.Result
	u       figure.Units
	n       int
	drawing sync.WaitGroup

	zoom bool // the page carries the script of the zoomable charts
}

// picture renders a chart, at both widths, until drawing is done; nil when there is nothing to draw.
func (b *builder) picture(c chart.Chart, behind *table) *picture {
	if len(c.Panels) == 0 {
		return nil
	}
	b.n++
	if behind != nil && len(behind.Rows) == 0 {
		behind = nil
	}
	p := &picture{ID: fmt.Sprintf("picture-%d", b.n), Title: c.Title, Caption: c.Caption, Behind: behind}
	b.drawing.Go(func() {
		p.Drawn = c.Pictures()
		if b.zoom && c.Zoomable() {
			d := c.Data(chart.Wide)
			p.Data = &d
		}
	})
	return p
}

func (g *figureGroup) add(p *picture) {
	if p != nil {
		g.Figures = append(g.Figures, p)
	}
}

func (g *figureGroup) addTable(t table) {
	if len(t.Rows) > 0 {
		t.Folded = len(t.Rows) > foldAbove
		g.Tables = append(g.Tables, t)
	}
}

func (b *builder) slip(f *slip.Finding, name, side string) figureGroup {
	g := figureGroup{Title: name}
	g.add(b.picture(plots.Rays(b.calibration(side), f, b.u), nil))
	for i, p := range telling(f.Pulls) {
		c := plots.Pull(f, p, b.logName(p.Input, side), b.u)
		if i > 0 {
			c.Caption = "" // said once
		}
		g.add(b.picture(c, b.pullSamples(f, p)))
	}
	for i, t := range f.Traces {
		if len(t.T) == 0 || i >= drivePictures {
			continue
		}
		title := "The whole drive"
		if n := b.inputName(i, side); n != "" {
			title += ": " + n
		}
		g.add(b.picture(plots.Drive(t, title, b.u), stateTable(t)))
	}
	g.addTable(b.pullTable(f, side))
	g.addTable(b.eventTable(f, side))
	g.addTable(b.engagementTable(f))
	return g
}

// inputName returns the file name of input i of a side; a finding of one side counts the inputs of that side.
func (b *builder) inputName(i int, side string) string {
	for _, in := range b.r.Inputs {
		if side != "" && in.Side != side {
			continue
		}
		if i == 0 {
			return in.Path
		}
		i--
	}
	return ""
}

// telling picks the pulls to show: those that slip, the most first, then those that held the most torque.
func telling(pulls []slip.Pull) []slip.Pull {
	out := append([]slip.Pull(nil), pulls...)
	rank := map[slip.Verdict]int{slip.Slips: 0, slip.Holds: 1, slip.Inconclusive: 2}
	slices.SortStableFunc(out, func(a, c slip.Pull) int {
		if by := cmp.Compare(rank[a.Verdict], rank[c.Verdict]); by != 0 {
			return by
		}
		if a.Verdict == slip.Slips {
			return cmp.Compare(c.MaxSlip, a.MaxSlip)
		}
		return cmp.Compare(value(c.PeakTorque), value(a.PeakTorque))
	})
	return out[:min(len(out), pullPictures)]
}

func (b *builder) inertia(c *compare.Finding) figureGroup {
	g := figureGroup{Title: "Rotating inertia"}
	if c.Before != nil && c.After != nil {
		g.Title += ", before and after"
	}
	g.add(b.picture(plots.ByGear(c, b.u), b.gearTable(c)))
	g.add(b.picture(plots.Runs(c), nil))
	g.add(b.picture(plots.Residuals(c), nil))
	for _, h := range plots.Held(c) {
		g.add(b.picture(h, nil))
	}
	g.add(b.picture(plots.Methods(c.Before, c.After, b.u), b.methodTable(c)))
	for _, k := range plots.Kinds(c.Before, c.After) {
		g.add(b.picture(k, nil))
	}
	g.addTable(b.drivabilityTable(c))
	g.addTable(b.airTable())
	g.addTable(b.driftTable(c.Before, c.After))
	if c.Before != nil {
		g.addTable(b.runTable(c.Before, "Runs before the job", "before"))
	}
	if c.After != nil {
		g.addTable(b.runTable(c.After, "Runs after the job", "after"))
	}
	return g
}

// calibration is how the logs of a side were read.
func (b *builder) calibration(side string) *calibrate.Calibration {
	if side == "before" && b.r.CalibrationBefore != nil {
		return b.r.CalibrationBefore
	}
	return b.r.Calibration
}

func (b *builder) gearing() figureGroup {
	g := figureGroup{Title: "How the log was read"}
	cal := b.r.Calibration
	if cal == nil {
		return g
	}
	var traces []slip.Trace
	for _, f := range findings(b.r) {
		traces = append(traces, f.Traces...)
	}
	if len(traces) > 0 {
		g.add(b.picture(plots.Ladder(cal, traces, b.u), nil))
	}
	g.addTable(b.ladderTable(cal))
	return g
}

// findings lists the slip findings of a result, each once; those that are not there are left out.
func findings(r *analysis.Result) (out []plots.Side) {
	all := []plots.Side{{Finding: r.Slip}}
	if r.Compare != nil {
		all = []plots.Side{{Name: "before", Finding: r.Compare.SlipBefore}, {Name: "after", Finding: r.Compare.SlipAfter}}
	}
	for _, f := range all {
		if f.Finding != nil {
			out = append(out, f)
		}
	}
	return out
}

// capacity is slip against torque with what was promised of the clutch.
func capacity(r *analysis.Result, u figure.Units) chart.Chart {
	var promised *float64
	if r.Job != nil && r.Job.ClutchClaim != nil {
		promised = &r.Job.ClutchClaim.StatedTorque
	}
	return plots.Capacity(findings(r), promised, u)
}

// fullLoad is the engine's torque with the rating of the clutch that is in the car now.
func fullLoad(r *analysis.Result, u figure.Units) chart.Chart {
	if r.Compare == nil {
		return chart.Chart{}
	}
	var rating *float64
	if s := r.Compare.SlipAfter; s != nil {
		rating = s.TorqueRating
	}
	return plots.FullLoad(r.Compare.Torque, rating, u)
}

// handOver is the one picture of the first page: what the clutch carried; else the free revs; else the pull that tells most.
// It is as low as the room asks for, but not less wide: the print of its axes stays readable.
func (b *builder) handOver(room string) *picture {
	if c := capacity(b.r, b.u); len(c.Panels) > 0 {
		if height, ok := map[string]float64{tight: 0.65, scant: 0.48}[room]; ok {
			c.Panels[0].Height = height
		}
		return b.picture(c, nil)
	}
	if c := b.r.Compare; c != nil {
		if p := b.picture(plots.Runs(c), nil); p != nil {
			return p
		}
	}
	if f := b.r.Inertia; f != nil {
		for _, k := range plots.Kinds(nil, f) {
			return b.picture(k, nil)
		}
	}
	for _, f := range findings(b.r) {
		for _, p := range telling(f.Pulls) {
			return b.picture(plots.Pull(f.Finding, p, b.logName(p.Input, f.Name), b.u), nil)
		}
	}
	return nil
}
