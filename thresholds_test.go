package flywitness_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"
)

// A bare number in a comparison is a question that nobody can answer later: what is it in, and why so much? In the analysis every threshold has a name, beside
// which unit and reason stand. What explains itself is not asked: nothing, one and two of something, the half of it, a factor of units, and what only keeps a
// division from zero.
func explains(literal string) bool {
	x, err := strconv.ParseFloat(strings.ReplaceAll(literal, "_", ""), 64)
	if err != nil {
		return false
	}
	switch x {
	case 0, 1, 2, 0.5, 3.6, 30, 60, 100, 1000:
		return true
	}
	return x > 0 && x <= 1e-6
}

// bareThresholds returns the places of a file where a number without a name is compared with, or bounds a value.
func bareThresholds(f *ast.File) (found []*ast.BasicLit) {
	numbers := func(n ast.Node) {
		ast.Inspect(n, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.IndexExpr, *ast.SliceExpr, *ast.FuncLit, *ast.CompositeLit:
				return false
			case *ast.CallExpr: // its own arguments are its own matter
				return bounds(n)
			case *ast.BasicLit:
				if (n.Kind == token.INT || n.Kind == token.FLOAT) && !explains(n.Value) {
					found = append(found, n)
				}
			}
			return true
		})
	}
	seen := map[token.Pos]bool{}
	ast.Inspect(f, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.BinaryExpr:
			switch n.Op {
			case token.LSS, token.GTR, token.LEQ, token.GEQ:
				numbers(n.X)
				numbers(n.Y)
			}
		case *ast.CallExpr:
			if bounds(n) {
				for _, a := range n.Args {
					numbers(a)
				}
			}
		}
		return true
	})
	once := found[:0]
	for _, l := range found {
		if !seen[l.Pos()] {
			seen[l.Pos()] = true
			once = append(once, l)
		}
	}
	return once
}

// bounds tells whether a call takes the larger or the smaller of its arguments.
func bounds(c *ast.CallExpr) bool {
	switch f := c.Fun.(type) {
	case *ast.Ident:
		return f.Name == "min" || f.Name == "max"
	case *ast.SelectorExpr:
		x, ok := f.X.(*ast.Ident)
		return ok && x.Name == "math" && (f.Sel.Name == "Min" || f.Sel.Name == "Max")
	}
	return false
}

// notYet is a car that is only for tests.
var notYet = map[string]bool{"testcar": true}

func TestEveryThresholdOfTheAnalysisHasAName(t *testing.T) {
	read := 0
	err := filepath.WalkDir("analysis", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && notYet[d.Name()] {
			return filepath.SkipDir
		}
		if !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		read++
		set := token.NewFileSet()
		f, err := parser.ParseFile(set, path, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		for _, l := range bareThresholds(f) {
			t.Errorf("%s: %s is compared with and has no name: give it a constant with unit and reason, or derive it", set.Position(l.Pos()), l.Value)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if read < 50 {
		t.Fatalf("only %d files read: is this the module's root?", read)
	}
}

// A line of 120 characters and more is not read to its end. Tables of the tests may stand as they were printed.
func TestLinesOfTheAnalysisAreShort(t *testing.T) {
	err := filepath.WalkDir("analysis", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		for i, line := range strings.Split(string(text), "\n") {
			if n := utf8.RuneCountInString(line); n >= 120 {
				t.Errorf("%s:%d has %d characters", path, i+1, n)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// The rule finds what it is for and lets pass what explains itself.
func TestBareThresholdsAreFound(t *testing.T) {
	for src, want := range map[string]int{
		"x < 3": 1, "x < limit": 0, "len(x) >= 20": 1, "x > 0": 0, "2*x > y": 0, "x/3.6 > v": 0, "math.Max(0.6, 1.6*p) < q": 2, "min(a, 7)": 1,
		"x < 1e-9": 0, "x[5] < y": 0, "x < f(9)": 0, "x > -0.3": 1, "x == 7": 0,
	} {
		f, err := parser.ParseFile(token.NewFileSet(), "x.go", "package x\nvar _ = "+src, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		if got := len(bareThresholds(f)); got != want {
			t.Errorf("%s: %d bare numbers, want %d", src, got, want)
		}
	}
}
