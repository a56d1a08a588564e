// Package web is the shell of every page: one stylesheet, head and foot, a content security policy that lets nothing in from outside, the
// scripts of the zoomable charts as `make web` built them, and a server that is safe by default. A plain `go build` embeds no scripts, and
// every page works without them.
package web

import "embed"

// The pattern matches build.mjs, which is always there, and the folder built, which is only there after `make web`.
//
//go:embed buil[dt]*
var files embed.FS

// Charts returns the script and the stylesheet of the zoomable charts; both empty when they were not built in.
func Charts() (script, css string) {
	js, err := files.ReadFile("built/charts.js")
	if err != nil {
		return "", ""
	}
	style, err := files.ReadFile("built/charts.css")
	if err != nil {
		return "", ""
	}
	return string(js), string(style)
}
