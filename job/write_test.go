package job

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// What is written is read again as it was meant, whatever somebody typed.
func TestADraftIsReadAsItWasMeant(t *testing.T) {
	km, since := 148620.0, 12.5
	for _, d := range []Draft{
		{Vehicle: "car.toml", Before: "before", After: "after"},
		{Title: "Clutch and flywheel", Vehicle: "car.toml", Before: "before", After: "after", Done: "240 mm disc", Customer: "M. Sample", Registration: "FW 26 MULE",
			VIN: "FLYWTNSS000MULE01", Operator: "A", Place: "B", OdometerKm: &km, KmSinceWork: &since},
		{Title: "quote \" backslash \\ line\nnext\ttab \x01 # no comment ]", Done: "éü漢 \u202e", Vehicle: "a \"b\".toml", Before: "before", After: "after"},
	} {
		dir := t.TempDir()
		for _, side := range []string{"before", "after"} {
			if err := os.Mkdir(filepath.Join(dir, side), 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(dir, side, side+".csv"), []byte("x"), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		var b bytes.Buffer
		if err := d.WriteTOML(&b); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(dir, "job.toml")
		if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		j, warnings, err := Load(path)
		if err != nil || len(warnings) > 0 {
			t.Fatalf("%v %v\n%s", err, warnings, b.String())
		}
		if j.Title != d.Title || j.Done != d.Done || j.Vehicle != filepath.Join(dir, d.Vehicle) || len(j.Before) != 1 || len(j.After) != 1 {
			t.Errorf("read %+v\nfrom\n%s", j, b.String())
		}
		if d.OdometerKm != nil && (j.OdometerKm == nil || *j.OdometerKm != km || j.KmSinceFitted == nil || *j.KmSinceFitted != since) {
			t.Errorf("distances %v %v", j.OdometerKm, j.KmSinceFitted)
		}
		for _, line := range strings.Split(b.String(), "\n") {
			if len(line) > 150 {
				t.Errorf("too long a line: %s", line)
			}
		}
	}
}

// Every comment of a draft that offers a key is a key that is read: with its # taken away and a value, the file loads.
func TestTheCommentsOfADraftAreKeys(t *testing.T) {
	var b bytes.Buffer
	if err := (Draft{Vehicle: "car.toml", Before: "before/*.csv"}).WriteTOML(&b); err != nil {
		t.Fatal(err)
	}
	text := ""
	for line := range strings.Lines(b.String()) {
		rest, commented := strings.CutPrefix(strings.TrimRight(line, "\n"), "# ")
		key, value, isKey := strings.Cut(rest, " =")
		switch value, _, _ := strings.Cut(value, " #"); {
		case !commented:
			text += line
		case strings.HasPrefix(rest, "["):
			text += rest + "\n"
		case !isKey || strings.Contains(key, " ") || key == "logo": // a logo must be there
		case strings.TrimSpace(value) == "":
			text += key + " = 1\n"
		default:
			text += key + " =" + value + "\n"
		}
	}
	if _, _, err := Load(folder(t, text, drives...)); err != nil {
		t.Errorf("%v\n%s", err, text)
	}
	if strings.Count(text, "\n") < 20 {
		t.Errorf("only\n%s", text)
	}
}
