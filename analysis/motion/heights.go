package motion

import (
	"math"
	"sort"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/vehicle"
)

// A satellite receiver tells its height above the sea badly, but what it errs by wanders slowly: the difference of two
// heights over a stretch of road is the slope of that stretch, with an error that grows with the time between them.
// That is one more measurement of the slope, beside how the car pulls. How far a receiver really wanders is told by
// the log itself: GradeEstimate tries several spreads and keeps the likeliest.
const (
	climbWay = 100.0 // m of road over which a slope is told, half of what a slope lasts
	// m and s of a usual receiver's height: how far it wanders and how quickly, and its error from value to value. A
	// height is good to 5 to 15 m (from memory); the rest is common practice, no source.
	heightWander, heightTau, heightNoise = 5.0, 200.0, 0.4
	heightGap                            = 2.5 // s between a moment and the heights on both sides of it, at most
	heightLate                           = 2.0 // s that a receiver is late; it smooths. From memory
	// Roads twice as hilly as ordinary ones are rarer than heights in another unit, and where nothing but heights tells
	// the slope these are taken for those.
	steepestRoad = 2 * vehicle.UsualSlopeSD
)

// climbError is the standard deviation of the slope in the middle of a stretch, driven at v m/s, against what the
// heights tell of it: the mean of the stretch, which differs by the slope's own times the square root of w/(6 l) where
// the slope lasts l m and the stretch w m, and that of a stretch which is already passed.
func climbError(v float64) float64 {
	passed := 2 * (1 - math.Exp(-v*heightLate/slopeLength))
	return vehicle.UsualSlopeSD * math.Sqrt(climbWay/(6*slopeLength)+passed)
}

// receiverScales are how much more a receiver wanders than a usual one, as far as it is tried. From the last on it
// says nothing.
var receiverScales = []float64{0.5, 1, 2, 4, 8, 16}

// TakeHeights gives the record the heights that a log holds.
func (r *Record) TakeHeights(l *drive.Log) {
	def, _ := drive.Define(drive.Altitude)
	r.heightT, r.height = gearstate.Usable(l.Channel(drive.Altitude), def.Low, def.High)
}

// heightAt is the height in m at a time, on the line between the heights about it; ok is false where none are near.
func (r *Record) heightAt(t float64) (h float64, ok bool) {
	k := sort.SearchFloat64s(r.heightT, t)
	if k == 0 || k == len(r.heightT) || t-r.heightT[k-1] > heightGap || r.heightT[k]-t > heightGap {
		return 0, false
	}
	x := (t - r.heightT[k-1]) / (r.heightT[k] - r.heightT[k-1])
	return r.height[k-1] + x*(r.height[k]-r.height[k-1]), true
}

// climbs returns a piece for every stretch of road of climbWay whose heights are known.
func (r *Record) climbs() []piece {
	if len(r.heightT) == 0 {
		return nil
	}
	var out []piece
	t := r.Track.T
	from, way := 0, 0.0
	for i := 1; i < len(t); i++ {
		if t[i]-t[i-1] > r.Track.Model.Gap() {
			from, way = i, 0
			continue
		}
		if way += r.State(i).V / 3.6 * (t[i] - t[i-1]); way < climbWay {
			continue
		}
		if p, ok := r.climb(t[from], t[i], way); ok {
			out = append(out, p)
		}
		from, way = i, 0
	}
	return out
}

// climb is the slope between two moments. A height that has not moved at all is that of a receiver that hangs.
func (r *Record) climb(from, to, way float64) (piece, bool) {
	a, before := r.heightAt(from)
	b, behind := r.heightAt(to)
	if !before || !behind || a == b {
		return piece{}, false
	}
	dt := to - from
	wander := 2 * stats.Square(heightWander) * (1 - math.Exp(-dt/heightTau))
	return piece{climb: true, t: (from + to) / 2, v: way / dt, pull: -(b - a) / way, sd: climbError(way / dt),
		wander: math.Sqrt(wander+2*stats.Square(heightNoise)) / way}, true
}
