package stats

// Line holds the sums of a least-squares line of y on x, for points that come and go. Give it x and y from a
// near origin: the sums are then exact.
type Line struct{ N, X, Y, XX, XY float64 }

// Add takes a point.
func (l *Line) Add(x, y float64) {
	l.N++
	l.X += x
	l.Y += y
	l.XX += x * x
	l.XY += x * y
}

// Remove takes a point away that was added.
func (l *Line) Remove(x, y float64) {
	l.N--
	l.X -= x
	l.Y -= y
	l.XX -= x * x
	l.XY -= x * y
}

// Spread is N times the sum of squares of x about its mean: no slope can be had where it is not above zero.
func (l *Line) Spread() float64 { return l.N*l.XX - l.X*l.X }

// Slope is that of the line, in units of y over x.
func (l *Line) Slope() float64 { return (l.N*l.XY - l.X*l.Y) / l.Spread() }
