package sim

import (
	"math"
	"math/rand/v2"
	"time"

	"flywitness/drive"
)

// Link is a kind of diagnostic connection.
type Link int

// The three links: values per second of each fast channel are about 2.5, 8 and 20.
const (
	KLine         Link = iota // one value a request, slow
	CANSequential             // one value a request
	CANMulti                  // all fast values in one reply
)

func (l Link) String() string { return [...]string{"K-line", "CAN sequential", "CAN multi"}[l] }

// RateHz returns the usual rate of each fast value.
func (l Link) RateHz() float64 { return [...]float64{2.5, 8, 20}[l] }

// JitterSD returns the usual standard deviation in s of a time stamp's error.
func (l Link) JitterSD() float64 { return [...]float64{0.040, 0.020, 0.010}[l] }

// Rounding is what a control unit does to a speed between two steps.
type Rounding int

// The ways of rounding.
const (
	Round Rounding = iota
	Floor
)

// Logger is a cheap recorder on a diagnostic link. Zero values mean the ideal, except that RateHz, RPMStep and
// SpeedStep at zero mean the usual 0.25 rpm and 1 km/h; NewLogger gives what is usual for a link.
type Logger struct {
	Link   Link
	RateHz float64 // of each fast value; 0 is the link's own

	SpeedLag    float64 // s, pure delay of the speed in the control unit
	SpeedFilter float64 // s, first-order filter of the speed on top of the lag; its delay adds to the lag
	SpeedScale  float64 // reported / true speed; 0 means 1
	SpeedStep   float64 // km/h
	SpeedFloor  float64 // km/h; slower is reported as 0
	Rounding    Rounding
	RPMStep     float64 // rpm

	Jitter       float64 // s, standard deviation of the time stamp's error
	PollSD       float64 // relative standard deviation of the time between requests
	LateShare    float64 // share of the stamps that are late by a half-normal of LateSDs jitters
	LateSDs      float64
	GapsPerHour  float64 // interruptions
	GapMax       float64 // s, longest interruption; the shortest is 0.5 s
	StuckPerHour float64 // times that the control unit repeats a value for a second (stale)

	Dial Dial // what stands between the wheels and the number; the zero value is a true one

	RPMLag     float64 // s, pure delay of the engine speed
	RPMAverage float64 // s over which the engine speed is averaged
	LagWander  float64 // s, standard deviation of a delay that wanders on top of the lag (never below 0 in sum)
	LagTau     float64 // s, its correlation time; 0 means 60
	JitterTau  float64 // s over which stamp errors are alike; 0: each has its own
	BurstShare float64 // share of the time in which replies are handed on in bursts: all of one get the stamp of the last
	BurstS     float64 // s, length of a burst
	LoadScale  float64 // reported / true load; 0 means 1
	LoadStuck  float64 // % that the load channel always shows; 0: it works
	SwitchAt   float64 // how far the clutch pedal is up (0-1) below which its switch shows a foot; 0 means 0.97: touched

	HeightWander float64 // m that the height of the satellite receiver wanders
	HeightTau    float64 // s, its correlation time; 0 means 60
	HeightNoise  float64 // m from value to value
	HeightLag    float64 // s
	HeightScale  float64 // shown / true height; 0 means 1

	ThrottleClosed float64 // % that the throttle channel shows when shut
	TorqueScale    float64 // reported / true torque; 0 means 1

	Fast, Slow []string // canonical names polled every cycle, and one of them every SlowEvery cycles; nil is usual
	SlowEvery  int

	WholeSecondStamps bool // stamps lose their fraction; Record spreads them again as a reader does
	HeldRows          bool // every reply makes a row of all values, old ones repeated; Record keeps the repeats
}

// NewLogger returns the usual logger of a link: jitter, poll spread, whole km/h rounded, 0.2 s of lag and a short filter.
func NewLogger(l Link) Logger {
	return Logger{
		Link: l, SpeedLag: 0.2, SpeedFilter: 0.08, SpeedStep: 1, RPMStep: 0.25,
		Jitter: l.JitterSD(), PollSD: 0.12, ThrottleClosed: 12,
	}
}

// RandomLogger returns a logger of a link with all its dirt drawn at random: lag 0.02-0.6 s (filter included), floor or
// round, jitter 10-40 ms, late and stale replies, gaps.
func RandomLogger(l Link, rng *rand.Rand) Logger {
	lg := NewLogger(l)
	lag := 0.02 + 0.58*rng.Float64()
	lg.SpeedFilter = min(lag, 0.02+0.2*rng.Float64()*rng.Float64())
	lg.SpeedLag = lag - lg.SpeedFilter
	lg.SpeedScale = 1 + 0.02*rng.NormFloat64()
	lg.SpeedFloor = 3 * rng.Float64()
	lg.Rounding = Rounding(rng.IntN(2))
	lg.Jitter = l.JitterSD() * (0.7 + 0.6*rng.Float64())
	lg.LateShare, lg.LateSDs = 0.01, 6
	lg.GapsPerHour, lg.GapMax, lg.StuckPerHour = 4, 6, 4
	lg.ThrottleClosed = 18 * rng.Float64()
	lg.TorqueScale = 1 + 0.03*rng.NormFloat64()
	return lg
}

// epoch is the invented moment at which every simulated log starts.
var epoch = time.Date(2025, 5, 12, 9, 30, 0, 0, time.UTC)

// Record polls a drive and returns what the link shows of it, channels in the order of polling. Stamps are in arrival
// order and carry the jitter, so that they are not always rising.
func (lg Logger) Record(tr *Truth, rng *rand.Rand) *drive.Log {
	replies := lg.Poll(tr, rng)
	l := &drive.Log{Path: "sim", Created: epoch, Rows: len(replies)}
	if lg.WholeSecondStamps {
		l.StampStep = 1
		spread(replies)
	}
	names := lg.names(tr)
	chans := make([]drive.Channel, len(names))
	index := make(map[string]int, len(names))
	for i, n := range names {
		chans[i] = drive.Channel{Name: n, Source: n}
		index[n] = i
	}
	lasts := make([]float64, len(names))
	seen := make([]bool, len(names))
	for _, r := range replies {
		for _, v := range r.Readings {
			i := index[v.Channel]
			lasts[i], seen[i] = v.Value, true
			if !lg.HeldRows {
				chans[i].T = append(chans[i].T, r.T)
				chans[i].V = append(chans[i].V, v.Value)
			}
		}
		if lg.HeldRows {
			for i := range chans {
				if seen[i] {
					chans[i].T = append(chans[i].T, r.T)
					chans[i].V = append(chans[i].V, lasts[i])
				}
			}
		}
	}
	for i := range chans {
		if len(chans[i].T) > 0 {
			l.Channels = append(l.Channels, &chans[i])
		}
	}
	return l
}

// spread puts whole-second stamps evenly back into their second, as a reader of such a log does.
func spread(rs []Reply) {
	for i := 0; i < len(rs); {
		j := i
		sec := math.Floor(rs[i].T)
		for j < len(rs) && math.Floor(rs[j].T) == sec {
			j++
		}
		for k := i; k < j; k++ {
			rs[k].T = sec + (float64(k-i)+0.5)/float64(j-i)
		}
		i = j
	}
}
