package inertia

import (
	"math"

	"flywitness/analysis/stats"

	"gonum.org/v1/gonum/mat"
)

const (
	agreeP  = 0.05  // below this the methods are said to disagree
	refuseP = 0.001 // below this they are not combined
)

// absolute gets the inertia of this side by every method that the logs allow, and combines them.
func (m *measurement) absolute() {
	if m.opt.Rollers {
		m.warn("no_absolute_inertia", "on a rolling road the car's mass does not move, so off-throttle runs give no absolute inertia; the ratio of two sets of free revs stands")
		return
	}
	b := bodyOf(m.veh)
	if b == nil {
		m.warn("no_absolute_inertia", "the absolute inertia needs the mass of the car: give a vehicle file with mass_kg")
		return
	}
	f := m.finding
	f.MassKg = b.mass
	runs := f.all()
	b.massSD = math.Hypot(b.massSD, doubtShare*m.massDoubt(b, runs))
	overrun, missing := overrunMethod(m.scenes, runs, b, m.cal, m.opt)
	if overrun != nil {
		f.Methods = append(f.Methods, *overrun)
		m.plausible(overrun.Inertia.Value)
	}
	pulls, said := m.pullMethod(b, runs)
	if pulls != nil {
		f.Methods = append(f.Methods, *pulls)
	}
	if said != "" {
		m.warn("pulls_cross_check", "%s", said)
	}
	if overrun == nil {
		f.WhatToDrive = append(f.WhatToDrive, missing)
		if pulls == nil {
			m.warn("no_absolute_inertia", "the absolute inertia cannot be had from these logs: it needs %s", missing)
		}
	}
	m.combine()
	m.drag(runs)
}

// combine is the generalised-least-squares mean of the methods with their shared errors, refused when they contradict
// each other.
func (m *measurement) combine() {
	f := m.finding
	n := len(f.Methods)
	if n == 0 {
		return
	}
	if n == 1 {
		f.Inertia = f.Methods[0].Inertia
		return
	}
	value, cov := make([]float64, n), mat.NewSymDense(n, nil)
	for i, a := range f.Methods {
		value[i] = math.Log(a.Inertia.Value)
		for j := i; j < n; j++ {
			b := f.Methods[j]
			v := a.Error.Common*b.Error.Common + a.Error.RevDown*b.Error.RevDown*a.Error.RevDownSD*b.Error.RevDownSD
			if i == j {
				v += stats.Square(a.Error.Own) + stats.Square(a.Error.Slope)
			}
			cov.SetSym(i, j, v)
		}
	}
	c, err := stats.Combine(value, cov, []float64{value[0]}, func(theta []float64, jac *mat.Dense) []float64 {
		p := make([]float64, n)
		for i := range p {
			p[i] = theta[0]
			jac.Set(i, 0, 1)
		}
		return p
	})
	if err != nil {
		f.Inertia = f.Methods[0].Inertia
		return
	}
	agree := c.P >= agreeP
	f.MethodsAgree = &agree
	if c.P < refuseP {
		m.warn("methods_contradict", "the methods contradict each other (chi-square %.1f with %d degrees of freedom), so they are not combined: check mass, tyre size and ratios", c.Chi2, c.DF)
		return
	}
	if !agree {
		m.warn("methods_disagree", "the methods differ by more than their errors explain (p = %.3f): check mass, tyre size and ratios", c.P)
	}
	f.Inertia = stats.LogNormal(c.Theta[0], math.Sqrt(c.Cov.At(0, 0)))
}

// plausible warns when an inertia is far from what is usual for such a car.
func (m *measurement) plausible(inertia float64) {
	if m.veh.Radius() == 0 {
		return
	}
	rule := m.veh.UsualInertia()
	if q := inertia / rule; q < 0.3 || q > 2.5 {
		m.warn("implausible_inertia", "an inertia of %.3f kg m² is %.1f times what is usual for such a car: check mass, tyre size, ratios and the units they are in", inertia, q)
	}
}

// drag gives the closed-throttle drag of the engine, T = I alpha of the free revs, in the middle of their window.
func (m *measurement) drag(runs []*Run) {
	f := m.finding
	revs := usedOf(runs, RevDown)
	if f.Inertia == nil || len(revs) < 3 {
		return
	}
	shape, err := ShapeOf(revs)
	if err != nil {
		return
	}
	ln, sd := meanLnB(shape)
	f.DragRPM = math.Round((shape.Low+shape.High)/200) * 100
	torque := f.Inertia.Value * shape.Rate(f.DragRPM, math.Exp(ln)) * math.Pi / 30
	f.Drag = stats.Normal(torque, torque*math.Hypot(sd, f.Inertia.SD/f.Inertia.Value))
}

// advise says what is missing beside the absolute inertia.
func (m *measurement) advise() {
	f := m.finding
	if n := len(f.FreeRevs(RevDown)) + len(f.FreeRevs(RollingRevDown)); n < 5 {
		f.WhatToDrive = append(f.WhatToDrive, "six free revs: at rest in neutral, foot off the clutch, rev to about 4000 rpm, let go at once, let it fall to idle")
	}
}
