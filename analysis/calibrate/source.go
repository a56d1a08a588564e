package calibrate

import (
	"math"

	"flywitness/drive"
	"flywitness/internal/parts"
	"flywitness/vehicle"

	"gonum.org/v1/gonum/stat/distuv"
)

// A tyre that pushes creeps: it turns faster than the road goes by, c times wheel force over weight. Slip stiffness of
// tyres on paved roads is 20 to 45 per unit of slip, and six tenths of the weight lie on the axle (from memory): c is
// 0.037 to 0.083 in two logs of three. Without a load channel the slope of the road takes a fifth of the c that is
// seen.
const (
	tyreCreep      = 0.055
	tyreCreepSD    = 0.4  // of its logarithm
	seenBlind      = 0.8  // of it
	creepTails     = 4    // degrees of freedom of the error of the c that is seen
	pullsAt        = 15.0 // m/s; at this speed the error of a delay is that of a creep,
	passesFor      = 0.5  // and this share of it on a drive at many: the rest shows as a delay at the others
	toldDriven     = 4.0  // nats: one file in fifty tells the wrong wheels
	drivenFrom     = 3.0  // nats from which on a log tells by itself: twenty to one
	mostNats       = 6.0  // caps what a log tells of its source: ln 400
	tyresIntegrate = 15   // kinds of tyres, each as usual as the other
)

// source tells whose speed the log shows from the nats by which its creep tells of the driven wheels and the vehicle
// file's word, and by how many nats it is theirs. What is not known counts as not theirs.
func (l *learner) source(log float64) (source string, nats float64) {
	told := l.toldSource()
	switch {
	case told == "gps", told == "undriven":
		return told, 0
	case told == "driven" && log > -toldDriven:
		return told, mostNats
	case log > drivenFrom:
		return "driven", math.Min(mostNats, log)
	case log < -drivenFrom:
		return "undriven", 0
	}
	return "unknown", math.Max(0, log)
}

// drivenNats is by how many nats the creep that a log shows is the none of driven wheels, and not that of a tyre that
// pushes, of which it is not known how stiff it is.
func (l *learner) drivenNats(creep, sd float64) float64 {
	seen := tyreCreep
	if l.cal.model.Load.Channel == "" {
		seen *= seenBlind
	}
	creep = math.Max(0, creep) // no tyre turns slower for pushing: what looks so is an error, and tells no more than none
	lag := math.Max(finestLag, coarseLag*l.pool.period) * vehicle.Gravity / pullsAt * passesFor
	err := distuv.StudentsT{Sigma: math.Hypot(sd, lag), Nu: creepTails}
	tyres := 0.0
	for i := range tyresIntegrate {
		share := (float64(i) + 0.5) / tyresIntegrate
		tyres += err.Prob(creep - seen*math.Exp(tyreCreepSD*distuv.UnitNormal.Quantile(share)))
	}
	return err.LogProb(creep) - math.Log(tyres/tyresIntegrate)
}

// At one speed a delay does what creep does: both set the speed back in proportion to the acceleration. The fit then
// ends near the delay that it began with, so it begins again at shorter ones, s.
const (
	creepDelay  = 0.1 // apart
	creepDelays = 4   // 0.4 s are 0.1 of creep at 100 km/h
)

// tellsDriven is by how many nats a fit tells that the speed is that of the driven wheels: no more than any other fit
// that is as good by the log's own blocks.
func (l *learner) tellsDriven(rungs []rung, s *solution, c *choice) float64 {
	p, place := l.pool, len(rungs)+1
	nats := l.drivenNats(s.creep, s.sd(place))
	if nats <= 0 || l.toldSource() != "unknown" {
		return nats
	}
	rows := p.twoFits(c)
	for i := 0; i < creepDelays && nats > 0; i += len(rows) {
		var fits [len(rows)]*solution
		parts.Each(len(rows), 1, func(k, _ int) {
			fits[k] = p.fit(rungs, s.lag-creepDelay*float64(i+k+1), s.offset, c, rows[k])
		})
		for _, q := range fits {
			if q.score < s.score || preference(q, s) < roundingSure {
				nats = math.Max(0, math.Min(nats, l.drivenNats(q.creep, q.sd(place))))
			}
		}
	}
	return nats
}

// toldSource is what the vehicle file says of the speed source, "unknown" when it says nothing.
func (l *learner) toldSource() string {
	switch {
	case l.pool.channel == drive.GPSSpeed:
		return "gps"
	case l.pool.channel == drive.UndrivenSpeed:
		return "undriven"
	case l.veh == nil || l.veh.SpeedSource == "":
		return "unknown"
	}
	return string(l.veh.SpeedSource)
}
