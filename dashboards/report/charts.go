package report

import (
	"flywitness/analysis"
	"flywitness/dashboards/chart"
	"flywitness/dashboards/plots"
	"flywitness/figure"
)

// Charts returns the pictures of a result that stand for themselves, for a file of their own; empty when there is nothing to draw.
func Charts(r *analysis.Result, u figure.Units) (out []chart.Chart) {
	b := builder{r: r, u: u}
	add := func(c chart.Chart) {
		if len(c.Panels) > 0 {
			out = append(out, c)
		}
	}
	add(capacity(r, u))
	for _, f := range findings(r) {
		rays := plots.Rays(b.calibration(f.Name), f.Finding, u)
		if f.Name != "" {
			rays.Title += ", " + f.Name
		}
		add(rays)
		for _, p := range telling(f.Pulls) {
			log := b.logName(p.Input, f.Name)
			if f.Name != "" {
				log = f.Name + ", " + log
			}
			add(plots.Pull(f.Finding, p, log, u))
		}
	}
	if c := r.Compare; c != nil {
		add(fullLoad(r, u))
		add(plots.ByGear(c, u))
		add(plots.Runs(c))
		add(plots.Residuals(c))
		for _, h := range plots.Held(c) {
			add(h)
		}
		add(plots.Methods(c.Before, c.After, u))
	}
	if f := r.Inertia; f != nil {
		for _, k := range plots.Kinds(nil, f) {
			add(k)
		}
		add(plots.Methods(nil, f, u))
	}
	return out
}
