package analysis

import (
	"fmt"
	"strconv"
	"strings"

	"flywitness/drive"
	"flywitness/job"
)

// handOver fills in who did the work for whom, and to which car. What the job file leaves out is taken from the logs, which may know it too.
func (r *Result) handOver(j *job.Job) {
	o := r.Job
	if s := j.Shop; s != nil {
		o.Shop = &Shop{Name: s.Name, Address: s.Address, Logo: s.Logo}
	}
	o.Customer, o.Registration, o.VIN, o.Date, o.OdometerKm = j.Customer, j.Registration, j.VIN, j.Date, j.OdometerKm
	for _, in := range r.Inputs { // in the order of time: the last one counts
		logged := strings.ToUpper(strings.TrimSpace(in.Header["vin"]))
		switch {
		case logged == "":
		case j.VIN == "":
			o.VIN = logged
		case logged != j.VIN:
			r.warn("", []drive.Warning{{Code: "vin_differs", Message: fmt.Sprintf("%s was recorded in a car of VIN %s, the job file says %s: is it the right log?",
				in.Path, logged, j.VIN)}})
		}
		if km, err := strconv.ParseFloat(in.Header["odometer_km"], 64); err == nil && km > 0 && j.OdometerKm == nil {
			o.OdometerKm = &km
		}
		if day, _, ok := strings.Cut(in.Created, "T"); ok && j.Date == "" && day > o.Date {
			o.Date = day
		}
	}
}
