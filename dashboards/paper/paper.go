// Package paper prints a page of this project to PDF with a browser that is installed on the machine.
package paper

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"time"
)

// Size is a paper size.
type Size string

// The sizes.
const (
	A4     Size = "a4"
	Letter Size = "letter"
)

// String, Set and Type make a size a flag.
func (s *Size) String() string { return string(*s) }

// Set takes a4 or letter.
func (s *Size) Set(text string) error {
	size := Size(strings.ToLower(text))
	if size != A4 && size != Letter {
		return errors.New("give a4 or letter")
	}
	*s = size
	return nil
}

// Type names the value in the help.
func (s *Size) Type() string { return "a4|letter" }

// CSS returns the rule that a page needs in its style sheet to be printed on this paper; "" leaves it to the printer.
func (s Size) CSS() string {
	switch s {
	case A4:
		return "@page{size:A4}\n"
	case Letter:
		return "@page{size:letter}\n"
	}
	return ""
}

// Variable is the environment variable that names a browser that is not among the usual ones.
const Variable = "FLYWITNESS_BROWSER"

// The programs that print a page without a window: every browser built on Chromium takes the same flags.
var browsers = []string{"chromium", "chromium-browser", "google-chrome-stable", "google-chrome", "chrome", "microsoft-edge", "msedge"}

// elsewhere is where such a browser lies on systems that do not put it on the path.
var elsewhere = map[string][]string{
	"darwin":  {"/Applications/Chromium.app/Contents/MacOS/Chromium", "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome"},
	"windows": {`C:\Program Files\Google\Chrome\Application\chrome.exe`, `C:\Program Files (x86)\Microsoft\Edge\Application\msedge.exe`},
}

// errNoBrowser is returned where no browser is found.
var errNoBrowser = errors.New("a PDF is printed by a browser, and none is installed: install chromium (or name one in " + Variable +
	"), or write the page as .html, open it in any browser and print it from there")

// Find returns the browser to print with.
func Find() (string, error) {
	if named := os.Getenv(Variable); named != "" {
		path, err := exec.LookPath(named)
		if err != nil {
			return "", fmt.Errorf("%s names %s, which cannot be run: %w", Variable, named, err)
		}
		return path, nil
	}
	for _, name := range append(browsers, elsewhere[runtime.GOOS]...) {
		if path, err := exec.LookPath(name); err == nil {
			return path, nil
		}
	}
	return "", errNoBrowser
}

// patience is how long a browser may take: a slow machine starts one in ten seconds.
const patience = 90 * time.Second

// Print prints a page and returns the PDF. The page is one file that asks for nothing outside.
func Print(ctx context.Context, page []byte) ([]byte, error) {
	browser, err := Find()
	if err != nil {
		return nil, err
	}
	dir, err := os.MkdirTemp("", "flywitness-print-")
	if err != nil {
		return nil, fmt.Errorf("cannot make a folder to print in: %w", err)
	}
	defer remove(dir)
	in, out := filepath.Join(dir, "page.html"), filepath.Join(dir, "page.pdf")
	if err := os.WriteFile(in, page, 0o600); err != nil {
		return nil, fmt.Errorf("cannot write the page to print: %w", err)
	}
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	cmd := exec.CommandContext(ctx, browser, arguments(dir, in, out)...)
	cmd.WaitDelay = 5 * time.Second
	var said bytes.Buffer
	cmd.Stderr = &said
	err = cmd.Run()
	if ctx.Err() != nil && errors.Is(ctx.Err(), context.DeadlineExceeded) {
		return nil, fmt.Errorf("%s did not print within %v; print the page from a browser window", browser, patience)
	}
	pdf, readErr := os.ReadFile(out)
	if err != nil || readErr != nil || !bytes.HasPrefix(pdf, []byte("%PDF-")) {
		return nil, fmt.Errorf("%s printed no PDF (%s); print the page from a browser window", browser, lastLine(said.String(), err))
	}
	return pdf, nil
}

func arguments(dir, in, out string) []string {
	args := []string{"--headless", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-dev-shm-usage",
		"--user-data-dir=" + filepath.Join(dir, "profile"), "--no-pdf-header-footer", "--print-to-pdf=" + out}
	if os.Geteuid() == 0 { // the sandbox refuses to start for the administrator; the page is our own and asks for nothing
		args = append(args, "--no-sandbox")
	}
	path := filepath.ToSlash(in)
	if !strings.HasPrefix(path, "/") { // a drive letter
		path = "/" + path
	}
	return append(args, (&url.URL{Scheme: "file", Path: path}).String())
}

// lastLine returns what a program said last, or the error where it said nothing.
func lastLine(said string, err error) string {
	lines := strings.Split(strings.TrimSpace(said), "\n")
	if last := strings.TrimSpace(lines[len(lines)-1]); last != "" {
		return last
	}
	return fmt.Sprint(err)
}

// remove removes the browser's folder, into which it may write a moment longer.
func remove(dir string) {
	for range 20 {
		if os.RemoveAll(dir) == nil {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
}
