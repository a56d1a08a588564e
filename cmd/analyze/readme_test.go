package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Every line of README.md that begins with "$ analyze" runs as it stands, from the root of the project.
func TestCommandsOfTheReadme(t *testing.T) {
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(root, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(root)
	ran := 0
	for line := range strings.Lines(string(text)) {
		command, ok := strings.CutPrefix(strings.TrimSpace(line), "$ fw-analyze ")
		if !ok {
			continue
		}
		args := strings.Fields(strings.ReplaceAll(command, "'", ""))
		for i, a := range args {
			if i > 0 && args[i-1] == "--out" {
				args[i] = filepath.Join(t.TempDir(), a)
			}
		}
		var out, errs bytes.Buffer
		if status := analyze(context.Background(), args, strings.NewReader(""), &out, &errs); status != 0 || out.Len() == 0 {
			t.Errorf("%s: exit %d, %s", command, status, errs.String())
		}
		ran++
	}
	if ran < 4 {
		t.Errorf("only %d commands found in README.md", ran)
	}
}
