package influx

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"strings"

	"flywitness/drive"
	"flywitness/finding"
)

// sessionRecord is what a session file says beside its rows: one point at the session's start. What stands below
// Complete is known when all of the file was sent.
type sessionRecord struct {
	Header  []drive.Field
	Columns []string
	File    string // its name, without folders

	Complete            bool
	SHA256              string
	Rows, Skipped, Torn int
	Values, Notes       int
	First, Last         float64 // s since the start, of the values
	Warnings            []finding.Finding
}

func newRecord(l *drive.Log) sessionRecord {
	r := sessionRecord{Header: l.Header, File: filepath.Base(l.Path)}
	for _, c := range l.Channels {
		r.Columns = append(r.Columns, c.Name)
	}
	return r
}

// complete adds what is known at the end. The file's own path is taken out of the warnings: it means nothing elsewhere.
func (r *sessionRecord) complete(l *drive.Log, d *driveLines, sha256 string) {
	r.Complete, r.SHA256 = true, sha256
	r.Rows, r.Skipped, r.Torn = l.Rows, l.Skipped, l.Torn
	r.Values, r.Notes = d.values, d.notes
	if d.values > 0 {
		r.First, r.Last = d.first, d.end
	}
	for _, w := range l.Warnings {
		r.Warnings = append(r.Warnings, finding.Told(w.Code, strings.TrimPrefix(w.String(), l.Path)))
	}
}

func (r *sessionRecord) line(d *driveLines) (string, error) {
	p := point{name: sessionMeasurement, tags: d.tags, at: d.created}
	for _, f := range []struct {
		key   string
		value any
	}{{"header", r.Header}, {"columns", r.Columns}, {"warnings", r.Warnings}} {
		text, err := json.Marshal(f.value)
		if err != nil {
			return "", err
		}
		if f.key != "warnings" || r.Complete {
			p.add(f.key, string(text))
		}
	}
	p.add("file", noBreaks(r.File))
	if r.Complete {
		p.add("complete", true)
		p.add("sha256", r.SHA256)
		p.add("first_s", r.First)
		p.add("last_s", r.Last)
		for _, n := range []struct {
			key   string
			value int
		}{{"rows", r.Rows}, {"skipped_rows", r.Skipped}, {"torn_rows", r.Torn}, {"values", r.Values}, {"notes", r.Notes}} {
			p.add(n.key, n.value)
		}
	}
	return p.line()
}

// read takes a field as the database holds it.
func (r *sessionRecord) read(key string, value any) error {
	text, _ := value.(string)
	whole, _ := value.(int64)
	number, _ := value.(float64)
	switch key {
	case "header":
		return unmarshal(key, text, &r.Header)
	case "columns":
		return unmarshal(key, text, &r.Columns)
	case "warnings":
		return unmarshal(key, text, &r.Warnings)
	case "file":
		return unmarshal(key, text, &r.File)
	case "complete":
		r.Complete, _ = value.(bool)
	case "sha256":
		r.SHA256 = text
	case "first_s":
		r.First = number
	case "last_s":
		r.Last = number
	case "rows":
		r.Rows = int(whole)
	case "skipped_rows":
		r.Skipped = int(whole)
	case "torn_rows":
		r.Torn = int(whole)
	case "values":
		r.Values = int(whole)
	case "notes":
		r.Notes = int(whole)
	}
	return nil
}

func unmarshal(key, text string, to any) error {
	if err := json.Unmarshal([]byte(text), to); err != nil {
		return fmt.Errorf("the field %s in the database cannot be read: another program has changed it; "+
			"write it again with fw-logger push or fw-analyze job", key)
	}
	return nil
}
