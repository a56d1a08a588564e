// Package finding is what the program says of a log, a car or a job, before it is said: a code and typed quantities.
// The sentence is made once, here, in the unit system of the reader; text, pages and JSON all take it from here.
// How to add one stands in DEVELOPERS.md.
package finding

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"

	"flywitness/figure"
)

// Code names what is said. It is stable and stands in JSON.
type Code string

// part is which part of its sentence a finding says.
type part int

const (
	whole part = iota
	fact       // what is the case, without what to do about it
	next       // what to do about it, alone
)

// Finding is one thing that is said: a warning, a caveat, a doubt, a refusal, an advice, a reason.
type Finding struct {
	Code   Code
	Side   string  // "before" or "after" where there are two and the warning is of one; named in front
	Values []Value // what the sentence is filled with, and what a program can take from it

	part part
	told string // the sentence of a finding that was read back from JSON or a database
	made string // the sentence in metric units, where it was made before
}

// New is a finding of this code. Its values are those of the code's example, by name.
func New(code Code, values ...Value) Finding { return Finding{Code: code, Values: values} }

// Told is a finding whose sentence was made elsewhere: by an older version, or before it went into a database.
func Told(code Code, sentence string) Finding { return Finding{Code: code, told: sentence} }

// Fact is the finding without what to do about it.
func (f Finding) Fact() Finding {
	f.part, f.made = fact, ""
	return f
}

// Next is what to do about a finding, alone.
func (f Finding) Next() Finding {
	f.part, f.made = next, ""
	return f
}

// Value returns the value of that name; ok is false where there is none.
func (f Finding) Value(name string) (v Value, ok bool) {
	i := slices.IndexFunc(f.Values, func(v Value) bool { return v.Name == name })
	if i < 0 {
		return Value{}, false
	}
	return f.Values[i], true
}

// Equal tells whether two findings say the same.
func (f Finding) Equal(g Finding) bool { return f.Code == g.Code && f.String() == g.String() }

// In is the sentence in English, in the units of the reader.
func (f Finding) In(u figure.Units) string {
	s := f.sentence(u)
	if f.Side != "" {
		s = f.Side + ": " + s
	}
	return s
}

func (f Finding) sentence(u figure.Units) string {
	switch {
	case f.told != "":
		return f.told
	case f.made != "" && u == figure.Metric:
		return f.made
	}
	return render(f, u)
}

// String is the sentence as JSON carries it: in English, in metric units.
func (f Finding) String() string { return f.In(figure.Metric) }

// inJSON is a finding in JSON. Every quantity has its unit in its name.
type inJSON struct {
	Code       Code           `json:"code"`
	Message    string         `json:"message"`
	Side       string         `json:"side,omitempty"`
	Quantities map[string]any `json:"quantities,omitempty"`
}

func (f Finding) inJSON() inJSON {
	out := inJSON{Code: f.Code, Message: f.String(), Side: f.Side}
	for _, v := range f.Values {
		if out.Quantities == nil {
			out.Quantities = make(map[string]any, len(f.Values))
		}
		out.Quantities[v.key()] = v.json()
	}
	return out
}

// MarshalJSON writes the code, the sentence and the quantities.
func (f Finding) MarshalJSON() ([]byte, error) { return plain(f.inJSON()) }

// plain is the JSON of x with < > & as they are: whoever writes the whole decides on those.
func plain(x any) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	err := enc.Encode(x)
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), err
}

// UnmarshalJSON reads code and sentence; the quantities are not needed to show an old result again.
func (f *Finding) UnmarshalJSON(data []byte) error {
	var in inJSON
	if err := json.Unmarshal(data, &in); err != nil {
		return err
	}
	*f = Told(in.Code, in.Message)
	if f.Side = in.Side; f.Side != "" {
		f.told = strings.TrimPrefix(in.Message, in.Side+": ")
	}
	return nil
}

// Text is what is said in one place, a finding after the other. JSON carries its sentences.
type Text []Finding

// Say is the text of these findings.
func Say(f ...Finding) Text { return f }

// In is the text in English, in the units of the reader.
func (t Text) In(u figure.Units) string { return t.joined(u, " ") }

// String is the text as JSON carries it.
func (t Text) String() string { return t.In(figure.Metric) }

func (t Text) joined(u figure.Units, between string) string {
	parts := make([]string, len(t))
	for i, f := range t {
		parts[i] = f.In(u)
	}
	return strings.Join(parts, between)
}

// With is the text with one value more for each of its sentences.
func (t Text) With(v Value) Text {
	out := make(Text, len(t))
	for i, f := range t {
		out[i] = f
		out[i].Values, out[i].made = append(slices.Clone(f.Values), v), ""
	}
	return out
}

// Has tells whether the text says that code.
func (t Text) Has(c Code) bool {
	return slices.ContainsFunc(t, func(f Finding) bool { return f.Code == c })
}

// Code is that of the first finding, "" for an empty text.
func (t Text) Code() Code {
	if len(t) == 0 {
		return ""
	}
	return t[0].Code
}

// MarshalText writes the sentences.
func (t Text) MarshalText() ([]byte, error) { return []byte(t.String()), nil }

// UnmarshalText keeps the sentences of an old result.
func (t *Text) UnmarshalText(text []byte) error {
	*t = nil
	if len(text) > 0 {
		*t = Text{Told("", string(text))}
	}
	return nil
}
