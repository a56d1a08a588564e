package report

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"flywitness/analysis"
	"flywitness/dashboards/figure"
	"flywitness/dashboards/internal/browser"
	"flywitness/dashboards/internal/sample"
)

func render(t *testing.T, r *analysis.Result) string {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, r, Options{Units: figure.Metric}); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func onDisk(t *testing.T, html string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "report.html")
	if err := os.WriteFile(path, []byte(html), 0o644); err != nil {
		t.Fatal(err)
	}
	return "file://" + path
}

func TestReportInTheBrowser(t *testing.T) {
	url := onDisk(t, render(t, sample.Job()))
	p := browser.Open(t)
	for _, s := range []struct {
		name          string
		width, height int64
		scheme        string
	}{{"light", 1100, 900, "light"}, {"dark", 1100, 900, "dark"}, {"phone", 390, 800, "light"}, {"phone-dark", 390, 800, "dark"}} {
		p.Screen(s.width, s.height, s.scheme)
		p.Go(url)
		if browser.Eval[bool](p, `document.documentElement.scrollWidth > window.innerWidth`) {
			t.Errorf("%s: the page is wider than the screen", s.name)
		}
		if bottom := browser.Eval[float64](p, `document.querySelector(".headline").getBoundingClientRect().bottom`); bottom > float64(s.height) {
			t.Errorf("%s: the verdict ends at %.0f, below the first screen", s.name, bottom)
		}
		p.Picture("report-" + s.name)
	}
	p.Clean(url)
	for name, size := range map[string]chromedp.PaperSize{"a4": chromedp.PaperA4, "letter": chromedp.PaperLetter} {
		pdf := p.PDF(size)
		if dir := os.Getenv("PAGE_PICTURES"); dir != "" {
			os.WriteFile(filepath.Join(dir, "report-"+name+".pdf"), pdf, 0o644)
		}
		if !strings.HasPrefix(string(pdf), "%PDF-") {
			t.Errorf("%s: not a PDF", name)
		}
	}
}
