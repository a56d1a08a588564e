package sim

import (
	"math"
	"math/rand/v2"
)

// motor is the running engine: the net torque that its crankshaft gets, with the manners of a control unit.
type motor struct {
	e                  *Engine
	idle, limit        float64   // rad/s
	curve              []float64 // full-load N m every curveStep rad/s
	dragSession        float64
	dragRun, torqueRun float64
	dragInGear         float64

	air, boost  float64 // 0-1
	idleTorque  float64 // N m indicated, lagged
	idleSum     float64 // N m, integral part
	noise       float64
	cut         bool // fuel cut on a closed throttle
	limiting    bool
	hang        float64 // s left of rev hang
	hadFoot     bool
	drag, given float64 // N m: friction now, and indicated torque now
}

const curveStep = 2.0 // rad/s

func newMotor(car *Car) motor {
	m := motor{
		e: &car.Engine, idle: car.Vehicle.Engine.IdleRPM * radPerRPM, limit: car.Vehicle.Engine.LimitRPM * radPerRPM,
		dragSession: 1, dragRun: 1, torqueRun: 1, dragInGear: 1,
	}
	if car.DragInGear > 0 {
		m.dragInGear = car.DragInGear
	}
	m.curve = make([]float64, int(m.limit*1.3/curveStep)+2)
	for i := range m.curve {
		m.curve[i] = m.e.FullLoadNm(float64(i) * curveStep / radPerRPM)
	}
	m.idleTorque = m.e.Drag(m.idle)
	m.idleSum = 0
	return m
}

func (m *motor) fullLoad(w float64) float64 {
	p := w / curveStep
	i := int(p)
	if i < 0 {
		return m.curve[0]
	}
	if i >= len(m.curve)-1 {
		return m.curve[len(m.curve)-1]
	}
	f := p - float64(i)
	return m.curve[i] + f*(m.curve[i+1]-m.curve[i])
}

// noisy moves the combustion noise by one control step of dt s (first-order, 20 ms correlation).
func (m *motor) noisy(dt float64, rng *rand.Rand) {
	keep := math.Exp(-dt / 0.02)
	m.noise = keep*m.noise + m.e.IdleNoise*math.Sqrt(1-keep*keep)*rng.NormFloat64()
}

// torque advances the engine by dt s at w rad/s and returns its net torque in N m. standing tells that the car does
// not move; neutral that nothing but the gearbox input hangs on the engine; most is a limit of the net torque in N m, 0 for none.
func (m *motor) torque(w, pedal, oil, most float64, standing, neutral bool, dt float64) float64 {
	e := m.e
	m.drag = e.Drag(w) * m.dragSession * m.dragRun * (1 - e.DragPerK*(oil-90))
	if !neutral {
		m.drag *= m.dragInGear
	}
	foot := pedal > 0.005
	if m.hadFoot && !foot && neutral {
		m.hang = e.HangTime
	}
	m.hadFoot = foot
	opening := pedal
	if m.hang > 0 && !foot {
		m.hang -= dt
		opening = e.HangOpening
	}
	tau := e.Torque
	if opening < m.air {
		tau = e.ThrottleTau
	}
	m.air += (opening - m.air) * min(1, dt/tau)
	m.boosting(w, dt)
	full := m.fullLoad(w) * m.torqueRun
	full *= 1 - e.Boosted*(1-m.boost)
	if most > 0 {
		full = min(full, most)
	}
	asked := (1 - math.Sqrt((1-m.air)*(1-m.air)*(1-m.air))) * (full + m.drag)
	m.fuel(w, foot, standing && neutral)
	idle := m.idling(w, foot, dt)
	m.given = max(asked, idle)
	if m.cut || m.limiting {
		m.given = 0
	} else {
		m.given = max(0, m.given+m.noise)
	}
	return m.given - m.drag
}

// boosting lets the charge pressure follow the throttle: slow to rise, slower below 3000 rpm, quick to fall.
func (m *motor) boosting(w, dt float64) {
	if m.e.Boosted == 0 {
		return
	}
	tau := 0.25
	if m.air > m.boost {
		tau = m.e.BoostLag * max(1, 314/max(w, 80))
	}
	m.boost += (m.air - m.boost) * min(1, dt/tau)
}

// fuel decides on the two cuts: closed throttle above the resume speed, and the limiter.
func (m *motor) fuel(w float64, foot, standing bool) {
	resume := m.e.FuelResumeRPM * radPerRPM
	switch {
	case foot || w < resume || m.hang > 0:
		m.cut = false
	case m.air < 0.02 && w > resume+20:
		m.cut = true
	}
	limit := m.limit
	if standing && m.e.SoftLimitRPM > 0 {
		limit = min(limit, m.e.SoftLimitRPM*radPerRPM)
	}
	switch {
	case w > limit:
		m.limiting = true
	case w < limit-m.e.LimiterHystRPM*radPerRPM:
		m.limiting = false
	}
}

// idling is the idle controller: feed-forward of the drag, proportional and integral part, and the lag of the manifold.
func (m *motor) idling(w float64, foot bool, dt float64) float64 {
	if foot || m.cut || w > m.idle*1.6 {
		m.idleSum *= 1 - min(1, dt/0.5)
	}
	miss := m.idle - w
	if !foot && !m.cut && w < m.idle*1.3 {
		m.idleSum = max(-15, min(m.idleSum+0.5*miss*dt, 25))
	}
	want := m.e.Drag(m.idle) + 0.45*miss + m.idleSum
	want = max(0, min(want, 60))
	m.idleTorque += (want - m.idleTorque) * min(1, dt/0.08)
	return m.idleTorque
}
