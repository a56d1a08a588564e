package finding

import (
	"fmt"
	"reflect"
	"strings"
)

// At is a finding and where in a result its sentence stands, by the names of the JSON: "slip.reason".
type At struct {
	At string `json:"at"`
	Finding
}

// MarshalJSON puts the place in front of the finding.
func (a At) MarshalJSON() ([]byte, error) {
	f, err := a.Finding.MarshalJSON()
	if err != nil {
		return nil, err
	}
	at, err := plain(a.At)
	if err != nil {
		return nil, err
	}
	return []byte(`{"at":` + string(at) + "," + string(f[1:])), nil
}

// Collect lists every finding whose sentence stands in a result, with its place. What two places share is listed once.
func Collect(result any) []At {
	c := collector{seen: map[uintptr]bool{}, out: []At{}}
	c.walk(reflect.ValueOf(result), "")
	return c.out
}

type collector struct {
	seen map[uintptr]bool
	out  []At
}

var textType = reflect.TypeFor[Text]()

func (c *collector) walk(v reflect.Value, at string) {
	if v.IsValid() && v.Type() == textType {
		for _, f := range v.Interface().(Text) {
			if f.Code != "" {
				c.out = append(c.out, At{at, f})
			}
		}
		return
	}
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() && !c.seen[v.Pointer()] {
			c.seen[v.Pointer()] = true
			c.walk(v.Elem(), at)
		}
	case reflect.Slice:
		if k := v.Type().Elem().Kind(); k != reflect.Struct && k != reflect.Slice && k != reflect.Pointer {
			return
		}
		for i := range v.Len() {
			c.walk(v.Index(i), fmt.Sprintf("%s[%d]", at, i))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			f := v.Type().Field(i)
			name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			switch {
			case f.Anonymous && name == "":
				name = at
			case name == "-" || name == "" || !f.IsExported():
				continue
			case at != "":
				name = at + "." + name
			}
			c.walk(v.Field(i), name)
		}
	}
}
