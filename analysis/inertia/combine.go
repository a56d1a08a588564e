package inertia

import (
	"math"

	"flywitness/analysis/stats"
	"flywitness/finding"

	"gonum.org/v1/gonum/mat"
)

const (
	agreeP  = 0.05  // below this the methods are said to disagree
	refuseP = 0.001 // below this they are not combined

	// Times the inertia of a usual car, beyond which a typing error, or the foot brake, is likelier than such a flywheel.
	leastOfUsual, mostOfUsual = 0.3, 2.5

	fewestRevs = 3 // free revs that give a rate with an error
	enoughRevs = 5 // that are recommended
)

// absolute gets the inertia of this side by every method that the logs allow, and combines them.
func (m *measurement) absolute() {
	if m.opt.Rollers {
		m.noAbsolute(finding.New(finding.OnRollers))
		return
	}
	b := bodyOf(m.veh)
	if b == nil {
		m.noAbsolute(finding.New(finding.NeedsMass))
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
		m.warn(said)
	}
	if overrun == nil {
		m.advise(*missing)
		if pulls == nil {
			m.noAbsolute(finding.New(finding.NeedsRuns, finding.Saying("missing", *missing)))
		}
	}
	m.combine()
	m.drag(runs)
}

// noAbsolute says why there is no absolute inertia.
func (m *measurement) noAbsolute(why finding.Finding) {
	m.warn(finding.NoAbsoluteInertia, finding.Saying("why", why))
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
		m.warn(finding.MethodsContradict, finding.Number("chi2", c.Chi2), finding.Count("freedom", c.DF))
		return
	}
	if !agree {
		m.warn(finding.MethodsDisagree, finding.Number("p", c.P))
	}
	f.Inertia = stats.LogNormal(c.Theta[0], math.Sqrt(c.Cov.At(0, 0)))
}

// plausible warns when an inertia is far below what is usual for such a car; one far above is not believed at all.
func (m *measurement) plausible(inertia float64) {
	if m.veh.Radius() == 0 {
		return
	}
	rule := m.veh.UsualInertia()
	if q := inertia / rule; q < leastOfUsual {
		m.warn(finding.ImplausibleInertia, finding.Inertia("inertia", inertia), finding.Number("times", q))
	}
}

// drag gives the closed-throttle drag of the engine, T = I alpha of the free revs, in the middle of their window.
func (m *measurement) drag(runs []*Run) {
	f := m.finding
	revs := usedOf(runs, RevDown)
	if f.Inertia == nil || len(revs) < fewestRevs {
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

// RevTo is the engine speed (rpm) that a free rev is asked to reach: above the window of every engine, and no
// more than one does without harm in neutral.
const RevTo = 4000

// adviseFreeRevs says what is missing beside the absolute inertia.
func (m *measurement) adviseFreeRevs() {
	f := m.finding
	if n := len(f.FreeRevs(RevDown)) + len(f.FreeRevs(RollingRevDown)); n < enoughRevs {
		m.advise(finding.New(finding.SixFreeRevs))
	}
}
