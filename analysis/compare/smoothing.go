package compare

import (
	"math"

	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/finding"
)

// A logger or a control unit that smooths engine speed shows each fall longer than it was, by about the same time
// whatever the inertia. On both sides alike it makes a change look smaller; on one of them, it makes one.
const (
	// s, and half an interval, in which engine speed turns from rising to falling where nothing smooths it
	promptTurn = 0.2
	// s that falls last longer for each second beyond: at their top a filter has not settled, and near idle it shows
	// speeds that the engine has left. From filters of 0.2 to 0.6 s on falls of 0.4 to 2 s, where it was 0.3 to 0.7
	longerBy = 0.5
	// ratio of the intervals between engine speeds of two recordings of one logger, at most
	oneLink = 1.5
	// standard deviations, between what the turns of both sides take, from which they are not smoothed alike: a program's
	// setting, or what drew its values together
	turnsDiffer = 4.0
	turnSD      = 0.05 // s that a turn is known to, at best
	saidSmooths = 0.02 // relative, from which an error by smoothing is told
)

// bySmoothing is the standard deviation of ln of the ratio by what smoothing may have done to it. Two recordings of
// one logger are smoothed alike, which takes a share of the change; of two loggers one may do what the other does
// not, and a throttle that shuts slowly looks the same.
func (c *comparison) bySmoothing(oneLogger bool) float64 {
	slow, perFall, turnVar := [2]float64{}, [2]float64{}, 0.0
	for k := range slow {
		var turns, lasts, every []float64
		for i, run := range c.ratio.runs {
			if t, _ := run.Trimmed(c.ratio.low, c.ratio.high, c.ratio.trim); side(c.ratio.after[i]) == k && len(t) > 1 {
				turns, lasts, every = append(turns, run.Turn), append(lasts, t[len(t)-1]-t[0]), append(every, stats.MedianStep(t))
			}
		}
		if len(lasts) == 0 {
			return 0
		}
		slow[k] = math.Max(0, stats.Median(turns)-promptTurn-stats.Median(every)/2)
		perFall[k] = longerBy / stats.Median(lasts)
		turnVar += stats.Square(math.Max(turnSD, stats.Summarise(turns).SD)) / float64(len(turns))
	}
	if oneLogger && math.Abs(slow[0]-slow[1]) < turnsDiffer*math.Sqrt(turnVar) {
		return math.Abs(c.ratio.ln) * (slow[0] + slow[1]) / 2 * (perFall[0] + perFall[1]) / 2
	}
	return math.Hypot(slow[0]*perFall[0], slow[1]*perFall[1])
}

// oneLogger tells whether all logs look as if one logger had written them: engine speed under one heading, as often.
func (c *comparison) oneLogger() bool {
	var first *drive.Channel
	for _, s := range c.sides() {
		for _, l := range s.Logs {
			x := l.Channel(drive.EngineSpeed)
			switch {
			case x == nil || x.Len() == 0:
			case first == nil:
				first = x
			case x.Source != first.Source || x.Unit != first.Unit:
				return false
			default:
				if r := stats.MedianStep(x.T) / stats.MedianStep(first.T); r > oneLink || r < 1/oneLink {
					return false
				}
			}
		}
	}
	return true
}

// allowForSmoothing widens the answer by what smoothing may have done to it, and says so.
func (c *comparison) allowForSmoothing() {
	one := c.oneLogger()
	sd := c.bySmoothing(one)
	c.answer.widen(sd * sd)
	if sd > saidSmooths {
		c.warn(finding.MaySmooth, finding.Pct("error", 100*sd), finding.Flag("two", !one))
		c.advise(finding.New(finding.MaySmooth).Next())
	}
}
