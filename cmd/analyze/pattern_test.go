package main

import (
	"encoding/json"
	"testing"

	"flywitness/internal/numbers"
)

// The clutch of the demo lets go at one torque (truth.json) and its lining does not fade: no other pattern is named,
// with the vehicle file or without, of one log or of both.
func TestPatternOfTheDemo(t *testing.T) {
	numbers.Only(t)
	monday, tuesday := demo+"/before/monday.csv", demo+"/before/tuesday.csv"
	for _, c := range []struct {
		args []string
		want map[string]bool
	}{
		{[]string{monday, tuesday, "--vehicle", demo + "/mule.toml"}, map[string]bool{"above_torque": true}},
		{[]string{monday, tuesday}, map[string]bool{"above_torque": true, "unclear": true}},
		{[]string{monday}, map[string]bool{"above_torque": true, "unclear": true}},
		{[]string{tuesday}, map[string]bool{"above_torque": true, "unclear": true}},
	} {
		_, out, msgs := run(append(append([]string{"slip"}, c.args...), "--json")...)
		var got struct {
			Slip struct {
				Pattern string `json:"pattern"`
			} `json:"slip"`
		}
		if err := json.Unmarshal([]byte(out), &got); err != nil {
			t.Fatalf("%v: %v; %s", c.args, err, msgs)
		}
		if !c.want[got.Slip.Pattern] {
			t.Errorf("%v: pattern %q, want one of %v", c.args, got.Slip.Pattern, c.want)
		}
	}
}
