package analysis

import (
	"strconv"
	"strings"

	"flywitness/finding"
	"flywitness/job"
)

// handOver fills in who did the work for whom, and to which car. What the job file leaves out is taken from the
// logs, which may know it too.
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
			r.warn("", []finding.Finding{finding.New(finding.VINDiffers, finding.Name("file", in.Path),
				finding.Name("logged", logged),
				finding.Name("stated", j.VIN))})
		}
		if km, err := strconv.ParseFloat(in.Header["odometer_km"], 64); err == nil && km > 0 && j.OdometerKm == nil {
			o.OdometerKm = &km
		}
		if day, _, ok := strings.Cut(in.Created, "T"); ok && j.Date == "" && day > o.Date {
			o.Date = day
		}
	}
}
