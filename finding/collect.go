package finding

import (
	"reflect"
	"strconv"
	"strings"

	"flywitness/figure"
	"flywitness/internal/parts"
)

// At is a finding and where in a result its sentence stands, by the names of the JSON: "slip.reason".
type At struct {
	At string `json:"at"`
	Finding
}

// MarshalJSON puts the place in front of the finding.
func (a At) MarshalJSON() ([]byte, error) {
	return plain(struct {
		At string `json:"at"`
		inJSON
	}{a.At, a.inJSON()})
}

// Collect lists every finding whose sentence stands in a result, with its place. What two places share is listed once. Each sentence
// is made once: the result's own keeps it.
func Collect(result any) []At {
	c := collector{seen: map[uintptr]bool{}, fields: map[reflect.Type][]field{}, holds: map[reflect.Type]bool{}, out: []At{}}
	c.walk(reflect.ValueOf(result), "")
	parts.Each(len(c.out), sentences, func(lo, hi int) {
		for i := range c.out[lo:hi] {
			f := &c.out[lo+i].Finding
			f.told = f.sentence(figure.Metric)
		}
	})
	for i, f := range c.from {
		f.made = c.out[i].told
	}
	return c.out
}

// sentences is how many of them are worth a goroutine.
const sentences = 200

// collector knows of each type what of it may hold a sentence: a day has thousands of values that do not.
type collector struct {
	seen   map[uintptr]bool
	fields map[reflect.Type][]field
	holds  map[reflect.Type]bool
	out    []At
	from   []*Finding // of each the result's own
}

// field is a field of a struct that may hold a sentence, by its name in JSON; "" of an embedded one.
type field struct {
	index int
	name  string
}

var textType = reflect.TypeFor[Text]()

func (c *collector) walk(v reflect.Value, at string) {
	switch {
	case !c.mayHold(v.Type()):
	case v.Type() == textType:
		text := v.Interface().(Text)
		for i, f := range text {
			if f.Code != "" {
				c.out, c.from = append(c.out, At{at, f}), append(c.from, &text[i])
			}
		}
	case v.Kind() == reflect.Pointer:
		if !v.IsNil() && !c.seen[v.Pointer()] {
			c.seen[v.Pointer()] = true
			c.walk(v.Elem(), at)
		}
	case v.Kind() == reflect.Slice:
		for i := range v.Len() {
			c.walk(v.Index(i), at+"["+strconv.Itoa(i)+"]")
		}
	case v.Kind() == reflect.Struct:
		for _, f := range c.fields[v.Type()] {
			name := at
			if name != "" && f.name != "" {
				name += "."
			}
			c.walk(v.Field(f.index), name+f.name)
		}
	}
}

// mayHold tells whether a value of a type may hold a sentence. Of a type that holds itself that is so until it is known.
func (c *collector) mayHold(t reflect.Type) bool {
	if known, ok := c.holds[t]; ok {
		return known
	}
	c.holds[t] = true
	holds := t == textType
	switch {
	case holds:
	case t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice:
		holds = c.mayHold(t.Elem())
	case t.Kind() == reflect.Struct:
		c.fields[t] = c.fieldsOf(t)
		holds = len(c.fields[t]) > 0
	}
	c.holds[t] = holds
	return holds
}

// fieldsOf are the fields that JSON shows and that may hold a sentence.
func (c *collector) fieldsOf(t reflect.Type) (out []field) {
	for i := range t.NumField() {
		f := t.Field(i)
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		embedded := f.Anonymous && name == ""
		if (embedded || name != "-" && name != "" && f.IsExported()) && c.mayHold(f.Type) {
			out = append(out, field{i, name})
		}
	}
	return out
}
