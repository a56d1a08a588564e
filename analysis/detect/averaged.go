package detect

// What a logger averaged over w seconds shows a slip smaller and longer than it was, and has one value of its own
// in w, however many it wrote.

// shown is how much of a slip of d seconds is left in the mean over the d seconds in which it shows best: of a
// rectangle in a moving average of w a triangle of w/2 by 1/2 goes on either side. Where the average is the longer,
// d/w of its height is left, less a triangle of d - w/2 on either side that rises by 1/w.
func shown(d, w float64) float64 {
	if w > d {
		side := max(0, d-w/2)
		return d/w - side*side/(w*d)
	}
	return 1 - w/(4*d)
}

// values is how many values of their own samples [lo, hi) are: of those that a mean of some was written for, or a line
// drawn through, each stands for several.
func (r *Record) values(lo, hi int) float64 {
	n := float64(hi - lo)
	if w := max(r.Track.Model.Averaged, r.Track.Model.Drawn); w > 0 {
		n = min(n, 1+(r.Track.T[hi-1]-r.Track.T[lo])/w)
	}
	return n
}
