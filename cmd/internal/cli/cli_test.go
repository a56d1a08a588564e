package cli

import (
	"bytes"
	"context"
	"errors"
	"strings"
	"testing"

	"github.com/spf13/cobra"
)

func testRoot(run func(*cobra.Command, []string) error) *cobra.Command {
	root := &cobra.Command{Use: "fw-analyze", Short: "test program"}
	sub := &cobra.Command{Use: "slip LOG", Short: "one log", Args: cobra.ExactArgs(1), RunE: run}
	sub.Flags().Float64("lag", 0, "seconds")
	var u Units
	sub.Flags().Var(&u, "units", "unit system")
	root.AddCommand(sub)
	return root
}

func TestExitStatusesAndLines(t *testing.T) {
	for _, c := range []struct {
		name   string
		args   []string
		err    error
		status int
		want   string // in the first line
		lines  int
	}{
		{"done", []string{"slip", "a.csv"}, nil, 0, "", 0},
		{"input", []string{"slip", "a.csv"}, errors.New("a.csv: no\nengine speed"), 1, "fw-analyze slip: a.csv: no engine speed", 1},
		{"hint", []string{"slip", "a.csv"}, &InputError{errors.New("a.csv: empty"), "record again"}, 1, "a.csv: empty; record again", 1},
		{"own usage", []string{"slip", "a.csv"}, Usagef("give %s", "a side"), 2, "give a side", 2},
		{"slips", []string{"slip", "a.csv"}, Found(StatusSlips), 3, "", 0},
		{"inconclusive", []string{"slip", "a.csv"}, Found(StatusInconclusive), 4, "", 0},
		{"no argument", []string{"slip"}, nil, 2, "LOG is missing", 2},
		{"unknown flag", []string{"slip", "--nope", "a"}, nil, 2, "--nope", 2},
		{"bad flag value", []string{"slip", "--lag", "x", "a"}, nil, 2, "lag", 2},
		{"bad units", []string{"slip", "--units", "furlong", "a"}, nil, 2, "metric", 2},
		{"unknown command", []string{"slop"}, nil, 2, "slop", 2},
		{"version", []string{"--version"}, nil, 0, "", 0},
		{"help", []string{"slip", "--help"}, nil, 0, "", 0},
	} {
		var out, errs bytes.Buffer
		root := testRoot(func(*cobra.Command, []string) error { return c.err })
		got := Run(context.Background(), root, c.args, strings.NewReader(""), &out, &errs)
		if got != c.status {
			t.Errorf("%s: status %d, want %d (%s)", c.name, got, c.status, errs.String())
		}
		if n := strings.Count(errs.String(), "\n"); n != c.lines || !strings.Contains(errs.String(), c.want) {
			t.Errorf("%s: stderr %q, want %d lines with %q", c.name, errs.String(), c.lines, c.want)
		}
		if c.status == StatusUsage && !strings.Contains(errs.String(), "--help") {
			t.Errorf("%s: usage error does not point to --help: %q", c.name, errs.String())
		}
	}
}

func TestOneLineDisarms(t *testing.T) {
	if got := OneLine("a\x1b[31m\nb\tc \u0085d\xff"); got != "a [31m b c d?" {
		t.Errorf("got %q", got)
	}
}

func TestWriteJSONKeepsNames(t *testing.T) {
	var b bytes.Buffer
	if err := WriteJSON(&b, map[string]string{"name": "<a> & b"}); err != nil {
		t.Fatal(err)
	}
	if got := b.String(); got != "{\n  \"name\": \"<a> & b\"\n}\n" {
		t.Errorf("got %q", got)
	}
}
