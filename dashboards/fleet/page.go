package fleet

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"runtime"
	"sync"

	"flywitness/analysis"
	"flywitness/analysis/fleet"
	"flywitness/dashboards/look"
	"flywitness/dashboards/paper"
	"flywitness/figure"
)

//go:embed fleet.html
var pageHTML string

//go:embed fleet.css
var ownCSS string

var page = template.Must(template.New("fleet").Parse(pageHTML))

// mostCurves is how many vehicles get a curve: beyond that the page is too large for a browser on a telephone.
const mostCurves = 1000

type view struct {
	Policy   string
	CSS      template.CSS
	Words    Summary
	AsOf     string
	Tool     analysis.Tool
	Vehicles []vehicle
	More     int // vehicles without a curve
}

// vehicle is the part of the page about one vehicle.
type vehicle struct {
	ID      string
	Row     Row
	Drawn   template.HTML // "" where there is nothing to draw
	History [][6]string
}

// Write writes the page of a fleet: one file that needs nothing from outside, works with scripts off, and prints on paper of
// the size, or on what the printer has.
func Write(w io.Writer, r *analysis.Result, u figure.Units, size paper.Size) error {
	css := look.CSS() + ownCSS + size.CSS()
	v := view{Policy: look.Policy([]string{css}, nil, ""), CSS: template.CSS(css), Words: Words(r.Fleet, u),
		AsOf: day(r.Fleet.AsOf), Tool: r.Tool}
	shown := r.Fleet.Vehicles[:min(len(r.Fleet.Vehicles), mostCurves)]
	v.More = len(r.Fleet.Vehicles) - len(shown)
	v.Vehicles = make([]vehicle, len(shown))
	var wg sync.WaitGroup
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i, one := range shown {
		wg.Go(func() {
			slots <- struct{}{}
			defer func() { <-slots }()
			v.Vehicles[i] = show(one, v.Words.Rows[i], u)
			v.Vehicles[i].ID = fmt.Sprintf("v%d", i+1)
		})
	}
	wg.Wait()
	return page.Execute(w, v)
}

func show(f fleet.Vehicle, r Row, u figure.Units) vehicle {
	v := vehicle{Row: r}
	if c := curve(f, u); len(c.Panels) > 0 {
		v.Drawn = c.Pictures()
	}
	for i := len(f.History) - 1; i >= 0; i-- {
		e := f.History[i]
		word, _ := clutch(e.Slip)
		v.History = append(v.History, [6]string{day(e.Time), e.Job, e.Side, word,
			short(e.Held, u, "N m"), short(e.Inertia, u, "kg m^2")})
	}
	return v
}
