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
	"flywitness/dashboards/paper"
	"flywitness/dashboards/web"
	"flywitness/figure"
)

//go:embed fleet.html
var pageHTML string

//go:embed fleet.css
var ownCSS string

var page = web.Parse(pageHTML, nil)

// mostCurves is how many vehicles get a curve: beyond that the page is too large for a browser on a telephone.
const mostCurves = 1000

type view struct {
	Page     web.Page
	One      bool // the page of one vehicle
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
	History [][7]string
}

// Write writes the page of a fleet: one file that needs nothing from outside, works with scripts off, and prints on paper of
// the size, or on what the printer has.
func Write(w io.Writer, r *analysis.Result, u figure.Units, size paper.Size) error {
	v := view{Page: web.New("All vehicles", web.Own{CSS: ownCSS + size.CSS()}), Words: Words(r.Fleet, u),
		AsOf: day(r.Fleet.AsOf), Tool: r.Tool}
	if len(r.Fleet.Vehicles) == 1 {
		v.One, v.Page.Title = true, r.Fleet.Vehicles[0].Vehicle
	}
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

// slipText writes what slip was seen, or from which size on it would have been.
func slipText(e fleet.Entry) string {
	switch {
	case e.MostSlip != nil:
		return figure.Significant(*e.MostSlip, 2) + " %"
	case e.Slip == "holds" && e.Smallest != nil:
		return "below " + figure.Significant(*e.Smallest, 2) + " %"
	}
	return ""
}

func show(f fleet.Vehicle, r Row, u figure.Units) vehicle {
	v := vehicle{Row: r}
	if c := curve(f, u); len(c.Panels) > 0 {
		v.Drawn = c.Pictures()
	}
	for i := len(f.History) - 1; i >= 0; i-- {
		e := f.History[i]
		word, _ := clutch(e.Slip)
		v.History = append(v.History, [7]string{day(e.Time), e.Job, e.Side, word, slipText(e),
			short(e.Held, u, "N m"), short(e.Inertia, u, "kg m^2")})
	}
	return v
}
