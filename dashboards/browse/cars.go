package browse

import (
	"bytes"
	"net/http"

	"flywitness/analysis"
	"flywitness/analysis/fleet"
	fleetpage "flywitness/dashboards/fleet"
	"flywitness/dashboards/text"
)

// car is a vehicle that the results of the folder speak of.
type car struct {
	Name, Last string
	Line       string // how it stands after its last job
	Tone       text.Tone
	Needs      []fleetpage.Need
}

// carsOf lists the vehicles of some entries, those that need somebody first.
func (s *Server) carsOf(entries []fleet.Entry) (out []car) {
	if len(entries) == 0 {
		return nil
	}
	for _, r := range fleetpage.Words(s.judge(entries), s.units).Rows {
		c := car{Name: r.Vehicle, Last: r.Last, Tone: r.Tone, Needs: r.Needs, Line: "clutch " + r.Clutch}
		if r.Held != "" {
			c.Line += ", carried " + r.Held
		}
		out = append(out, c)
	}
	return out
}

func (s *Server) judge(entries []fleet.Entry) *fleet.Finding {
	return fleet.Judge(entries, fleet.Options{Now: s.analyst.Now().UTC()})
}

// car shows the history of one vehicle from every result of the folder.
func (s *Server) car(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("name")
	done, ok := s.turn(w, r)
	if !ok {
		return
	}
	defer done()
	var v index
	s.walk(&v)
	var entries []fleet.Entry
	tool := analysis.Tool{}
	for _, it := range v.Reports[:min(len(v.Reports), mostShown)] {
		res, err := s.readResult(it.Path)
		if err != nil {
			continue // the list of reports says so
		}
		for _, e := range entriesOf(res) {
			if e.Vehicle == name {
				entries, tool = append(entries, e), res.Tool
			}
		}
	}
	if len(entries) == 0 {
		s.fail(w, http.StatusNotFound, "No result in this folder is of such a car.")
		return
	}
	var b bytes.Buffer
	if err := fleetpage.Write(&b, &analysis.Result{Command: "fleet", Tool: tool, Fleet: s.judge(entries)}, s.units, ""); err != nil {
		s.fail(w, http.StatusInternalServerError, "The page of this car could not be made.")
		return
	}
	w.Header().Set("Content-Security-Policy", "sandbox; default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'none'")
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	// What fails here is the connection; there is nobody left to tell.
	_, _ = b.WriteTo(w)
}

// entriesOf returns what a result says of its vehicle; nothing where it names none or no day.
func entriesOf(r *analysis.Result) []fleet.Entry {
	entries, err := analysis.FleetEntries(r, "")
	if err != nil {
		return nil
	}
	return entries
}
