package cli

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
)

func TestWriteJSON(t *testing.T) {
	type inner struct {
		A []int          `json:"a"`
		M map[string]any `json:"m"`
	}
	for _, v := range []any{
		nil, true, 1.5e-9, "", "a \"b\" \\", "{[,:]} <&> é \u2028", []int{}, map[string]int{}, []any{[]any{}, map[string]any{}, nil, -3, "x,y"},
		struct{}{}, inner{}, []inner{{A: []int{1, 2}, M: map[string]any{"k:": []string{"\\", "\\\""}, "": inner{}}}}, json.RawMessage(`{ "a" : [ 1 , {} ] }`),
	} {
		var got strings.Builder
		if err := WriteJSON(&got, v); err != nil {
			t.Fatal(err)
		}
		var want bytes.Buffer
		enc := json.NewEncoder(&want)
		enc.SetEscapeHTML(false)
		enc.SetIndent("", "  ")
		if err := enc.Encode(v); err != nil {
			t.Fatal(err)
		}
		if got.String() != want.String() {
			t.Errorf("%#v is written as\n%s\nnot as\n%s", v, got.String(), want.String())
		}
	}
	if err := WriteJSON(&strings.Builder{}, func() {}); err == nil {
		t.Error("a function was written")
	}
}
