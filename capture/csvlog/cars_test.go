package csvlog

import (
	"fmt"
	"strings"
	"testing"
)

// A table of two cars, told apart by a column, is refused by name; one car in such a column is read.
func TestSeveralCarsInOneTable(t *testing.T) {
	table := func(heading, second string) string {
		var b strings.Builder
		fmt.Fprintf(&b, "time_s,%s,engine rpm (rpm),speed (km/h)\n", heading)
		for i := range 80 {
			car := "Mule"
			if i >= 40 {
				car = second
			}
			fmt.Fprintf(&b, "%d,%s,%d,%d\n", i, car, 1500+i, 40+i/10)
		}
		return b.String()
	}
	for _, heading := range []string{"car_id", "Vehicle", "VIN", "License plate"} {
		_, err := read(strings.NewReader(table(heading, "Hinny")), "two.csv", Options{})
		if err == nil || !strings.Contains(err.Error(), "Mule") || !strings.Contains(err.Error(), "Hinny") || !strings.Contains(err.Error(), "one file for each") {
			t.Errorf("%s: %v", heading, err)
		}
		l, err := read(strings.NewReader(table(heading, "Mule")), "one.csv", Options{})
		if err != nil || l.Rows != 80 {
			t.Errorf("%s, one car: %v", heading, err)
		}
	}
	if _, err := read(strings.NewReader(table("gear label", "Hinny")), "other.csv", Options{}); err != nil {
		t.Errorf("another column of words: %v", err)
	}
}
