package report

import (
	"encoding/base64"
	"fmt"
	"html/template"

	"flywitness/analysis"
	"flywitness/figure"
)

// head is who hands over what to whom.
type head struct {
	Shop    string
	Address []string
	Logo    template.URL // a data URI; "" without one
	Facts   [][2]string  // the car and its owner
}

func headOf(r *analysis.Result, u figure.Units) (h head) {
	add := func(name, value string) {
		if value != "" {
			h.Facts = append(h.Facts, [2]string{name, value})
		}
	}
	j := r.Job
	if j == nil {
		return h
	}
	if s := j.Shop; s != nil {
		h.Shop, h.Address = s.Name, s.Address
		if l := s.Logo; l != nil { // the job file's reader decoded the picture and wrote it anew
			h.Logo = template.URL("data:" + l.Type + ";base64," + base64.StdEncoding.EncodeToString(l.Data))
		}
	}
	add("customer", j.Customer)
	if r.Vehicle != nil {
		add("car", r.Vehicle.Name)
	}
	add("registration", j.Registration)
	add("VIN", j.VIN)
	if j.OdometerKm != nil {
		km, unit := u.In(*j.OdometerKm, "km")
		add("odometer", fmt.Sprintf("%.0f %s", km, map[string]string{"km": "km", "mile": "miles"}[unit]))
	}
	add("date", j.Date)
	add("fitted", j.Done)
	return h
}
