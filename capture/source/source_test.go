package source

import (
	"context"
	"errors"
	"strings"
	"testing"

	"flywitness/capture/csvlog"
	"flywitness/capture/influx"
)

func TestOpen(t *testing.T) {
	table := "Time (s),Engine RPM (rpm),Speed (km/h)\n0,800,0\n0.1,810,1\n0.2,820,2\n"
	logs, err := Open(context.Background(), "-", Options{Options: csvlog.Options{Stdin: strings.NewReader(table)}})
	if err != nil || len(logs) != 1 || logs[0].Rows != 3 {
		t.Errorf("%v, %v", logs, err)
	}
	for name, want := range map[string]string{
		"influx:vehicle=Mule": "no database here",
		"influx:mule":         "influx:vehicle=NAME",
		"/nowhere.csv":        "no such file",
	} {
		_, err := Open(context.Background(), name, Options{Database: func() (*influx.Server, error) { return nil, errors.New("no database here") }})
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := Open(context.Background(), "influx:vehicle=Mule", Options{}); err == nil {
		t.Error("a log of a database is opened without one")
	}
}
