package web

import (
	"embed"
	_ "embed" // the head of a page
	"html/template"
	"io/fs"

	"flywitness/figure"
)

//go:embed shell.html
var shellHTML string

// Page is what stands around the content of a page. Its templates "top" and "bottom" take it.
type Page struct {
	Title         string
	Policy        string // content security policy: written into a file, sent with a page that is served
	Served        bool
	Refresh       int // seconds until the page loads itself again, 0 never; a page with a script does so only without it
	CSS, ChartCSS template.CSS
	Script        template.JS
}

// Own is what one page has beside the shell. Policy is added to the content security policy as it is.
type Own struct {
	CSS, Script string
	Charts      bool // it carries the script of the zoomable charts, where that was built in
	Forms       bool // it posts to its own server
	Policy      string
}

// New returns the shell of a page.
func New(title string, own Own) Page {
	p := Page{Title: title, CSS: template.CSS(css() + own.CSS), Script: template.JS(own.Script)}
	styles, scripts := []string{string(p.CSS)}, []string(nil)
	if own.Script != "" {
		scripts = append(scripts, own.Script)
	}
	if script, css := Charts(); own.Charts && script != "" {
		p.Script, p.ChartCSS = template.JS(script), template.CSS(css)
		styles, scripts = append(styles, css), []string{script}
	}
	forms := "'none'"
	if own.Forms {
		forms = "'self'"
	}
	p.Policy = "default-src 'none'; base-uri 'none'; form-action " + forms + "; style-src" + sources(styles) + "; script-src" + sources(scripts)
	if own.Policy != "" {
		p.Policy += "; " + own.Policy
	}
	return p
}

// Parse returns the template of a page from its text, with the parts that all pages share: "top", "bottom", "sign" of a tone, "answer".
func Parse(text string, funcs template.FuncMap) *template.Template {
	return template.Must(base(funcs).Parse(text))
}

// ParseFS does the same for the pages of a server, each by the name of its file.
func ParseFS(files embed.FS, pattern string, funcs template.FuncMap) *template.Template {
	return template.Must(base(funcs).ParseFS(fs.FS(files), pattern))
}

func base(funcs template.FuncMap) *template.Template {
	return template.Must(template.New("page").Funcs(template.FuncMap{"whole": whole}).Funcs(funcs).Parse(shellHTML))
}

// whole keeps a number and its unit on one line.
func whole(s string) string { return figure.Together(s, "\u00a0") }
