package finding

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// Whoever makes a finding gives it values by the names that its sentence knows; a name that is written wrong would
// leave a hole in the sentence.
func TestProducersGiveWhatTheSentenceTakes(t *testing.T) {
	names := constants(t)
	calls := 0
	err := filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasPrefix(path, "../finding") {
			return err
		}
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, path, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		ast.Inspect(file, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok {
				return true
			}
			var codes []Code
			var given []string
			for _, arg := range call.Args {
				if name, ok := of(arg); ok && names[name] != "" {
					codes = append(codes, names[name])
				}
				if inner, ok := arg.(*ast.CallExpr); ok {
					given = append(given, valueName(inner)...)
				}
			}
			for _, name := range given {
				if len(codes) == 0 {
					continue
				}
				calls++
				code := codes[len(codes)-1] // of a caveat's two the second is the reason, which has the values
				if _, ok := Example(code).Value(name); !ok {
					t.Errorf("%s: the sentence of %s knows no value %q", set.Position(call.Pos()), code, name)
				}
			}
			return true
		})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if calls < 150 {
		t.Errorf("only %d values seen", calls)
	}
}

// constants are the codes by the names of their constants.
func constants(t *testing.T) map[string]Code {
	t.Helper()
	out := map[string]Code{}
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range files {
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			spec, ok := n.(*ast.ValueSpec)
			if !ok || len(spec.Values) != 1 {
				return true
			}
			if kind, ok := spec.Type.(*ast.Ident); ok && kind.Name == "Code" {
				value, err := strconv.Unquote(spec.Values[0].(*ast.BasicLit).Value)
				if err != nil {
					t.Fatal(err)
				}
				out[spec.Names[0].Name] = Code(value)
			}
			return true
		})
	}
	known := Codes()
	for name, c := range out {
		if !slices.Contains(known, c) {
			t.Errorf("%s has no sentence", name)
		}
	}
	return out
}

// of is the name behind "finding.", wherever it is used.
func of(e ast.Expr) (string, bool) {
	s, ok := e.(*ast.SelectorExpr)
	if !ok {
		return "", false
	}
	x, ok := s.X.(*ast.Ident)
	return s.Sel.Name, ok && x.Name == "finding"
}

// valueName is the name of a value that is made by this call; nothing for another call.
func valueName(call *ast.CallExpr) []string {
	maker, ok := of(call.Fun)
	switch {
	case !ok || maker == "New" || maker == "Say" || maker == "Told" || len(call.Args) == 0:
		return nil
	case maker == "Gear":
		return []string{"gear"}
	}
	lit, ok := call.Args[0].(*ast.BasicLit)
	if !ok {
		return nil
	}
	name, err := strconv.Unquote(lit.Value)
	if err != nil {
		return nil
	}
	return []string{name}
}
