package analysis

import (
	"testing"

	"flywitness/job"
)

// What the job file says stands; what it leaves out comes from the logs, the last one first.
func TestHandOverTakesTheJobFileThenTheLogs(t *testing.T) {
	logs := []Input{{Path: "a.csv", Created: "2026-03-27T14:30:00Z",
		Header: map[string]string{"vin": "flywtnss000mule01", "odometer_km": "148001"}},
		{Path: "b.csv", Created: "2026-03-26T14:30:00Z", Header: map[string]string{"odometer_km": "none"}}}
	r := &Result{Inputs: logs, Job: &JobInfo{}}
	r.handOver(&job.Job{})
	if j := r.Job; j.VIN != "FLYWTNSS000MULE01" || j.Date != "2026-03-27" || j.OdometerKm == nil ||
		*j.OdometerKm != 148001 || j.Shop != nil || len(r.Warnings) > 0 {
		t.Errorf("from the logs: %+v, %v", j, r.Warnings)
	}
	km := 148620.0
	r = &Result{Inputs: logs, Job: &JobInfo{}}
	r.handOver(&job.Job{VIN: "ANOTHER0CAR000002", Date: "Friday", OdometerKm: &km, Customer: "M. Sample",
		Shop: &job.Shop{Name: "Works"}})
	if j := r.Job; j.VIN != "ANOTHER0CAR000002" || j.Date != "Friday" || *j.OdometerKm != km ||
		j.Customer != "M. Sample" || j.Shop.Name != "Works" {
		t.Errorf("from the job file: %+v", j)
	}
	if len(r.Warnings) != 1 || r.Warnings[0].Code != "vin_differs" {
		t.Errorf("another car's log: %v", r.Warnings)
	}
}
