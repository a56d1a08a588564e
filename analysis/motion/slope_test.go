package motion

import (
	"math"
	"testing"
)

// A minute and a half of pieces tells slope and torque, half a minute does not.
func TestPiecesThatSuffice(t *testing.T) {
	f := NewForce(handCar(), false)
	for _, c := range []struct {
		n    int
		want bool
	}{{100, true}, {30, false}} {
		pieces, _ := road(f, 1, c.n)
		if got := fitGrade(pieces, f) != nil; got != c.want {
			t.Errorf("%d pieces: told %v", c.n, got)
		}
	}
}

// A road load half of the told one is a car that rolls well; one of a tenth is nonsense, and nothing is told then.
func TestRoadLoadThatIsNonsense(t *testing.T) {
	for _, c := range []struct {
		rolling float64
		want    bool
	}{{0.6, true}, {-3, false}} {
		f := NewForce(handCar(), false)
		f.loadSD = [2]float64{0.56, 0.56} // the file says little, so the log decides
		pieces, _ := road(f, c.rolling, 2000)
		if got := fitGrade(pieces, f) != nil; got != c.want {
			t.Errorf("rolling resistance times %.1f: told %v", c.rolling, got)
		}
	}
}

// A brake is no slope: a piece that is 0.05 of weight short does not count.
func TestBrakedPieceIsDropped(t *testing.T) {
	f := NewForce(handCar(), false)
	pieces, _ := road(f, 1, 400)
	pieces[203].pull -= 0.045 // a slope changes by 0.006 from piece to piece: seven standard deviations
	s := fitGrade(pieces, f)
	if s == nil || !s.bad[203] {
		t.Error("a braked piece counts")
	}
	// of 320 pieces in gear one in 2000 lies beyond 3.5 standard deviations, and the brake takes its neighbours along
	inGear := 0
	for i, p := range pieces {
		if s.bad[i] && p.gear > 0 {
			inGear++
		}
	}
	if inGear > 3 {
		t.Errorf("%d of 320 pieces in gear dropped", inGear)
	}
}

// A slope lasts two kilometres at most, however little the fit expected; its error is a tenth of it at least,
// since a driver gives more load uphill.
func TestHowFarASlopeGoes(t *testing.T) {
	f := NewForce(handCar(), false)
	pieces, slopes := road(f, 1, 600)
	s := layOut(pieces, f)
	s.spread = 0.003
	s.fit(f)
	if s.widen(); s.length > 2100 || s.length < 1000 {
		t.Errorf("a slope lasts %.0f m", s.length)
	}
	s = fitGrade(pieces, f)
	told, variance := s.slopes()
	steep := 0
	for i := range slopes {
		if math.Abs(told[i]) > math.Abs(told[steep]) && pieces[i].gear > 0 {
			steep = i
		}
	}
	if sd := math.Sqrt(variance[steep]); sd < 0.1*math.Abs(told[steep]) || sd > 0.25*math.Abs(told[steep]) {
		t.Errorf("a slope of %.3f is told to %.4f", told[steep], sd)
	}
}

// Between pieces slope is a straight line over less than half a second: a road that goes up and down with every
// second is followed.
func TestSlopeIsFollowed(t *testing.T) {
	r := New(0, track(60, leg{s: 20, gear: 3, load: 0.5, clutch: locked}))
	var pieces []piece
	var slope, variance []float64
	for i := range 18 {
		pieces = append(pieces, piece{t: 1 + float64(i)})
		slope, variance = append(slope, 0.02*float64(1-2*(i%2))), append(variance, 1e-8)
	}
	r.bridge(pieces, slope, variance, 0.03, 200)
	for i, p := range pieces {
		near(t, "slope", r.slope[int(math.Round(p.t*20))], slope[i], 0.009)
	}
}
