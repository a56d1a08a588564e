package web

import (
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"fmt"
	"strings"

	"flywitness/dashboards/chart"
)

//go:embed page.css
var pageCSS string

// css returns the stylesheet of every page.
func css() string {
	var light, dark, charts, print strings.Builder
	for _, v := range []struct {
		name string
		chart.Pair
	}{{"paper", chart.Paper}, {"text", chart.Text}, {"quiet", chart.Quiet}, {"grid", chart.Grid}, {"act", ink(chart.SlipRole)}, {"good", ink(chart.After)}, {"open", ink(chart.Before)}} {
		fmt.Fprintf(&light, "--%s:%s;", v.name, chart.Hex(v.Light))
		fmt.Fprintf(&dark, "--%s:%s;", v.name, chart.Hex(v.Dark))
	}
	for _, r := range chart.Recolourings() {
		fmt.Fprintf(&charts, "svg [fill=\"%s\"]{fill:%s}svg [stroke=\"%s\"]{stroke:%s}\n", r.Light, r.Dark, r.Light, r.Dark)
		if r.Print != r.Light {
			fmt.Fprintf(&print, "svg [fill=\"%s\"]{fill:%s}\n", r.Light, r.Print)
		}
	}
	return fmt.Sprintf(":root{%s}\n%s\n@media screen and (prefers-color-scheme:dark){:root{%s}\n%s}\n@media print{\n%s}\n",
		light.String(), pageCSS, dark.String(), charts.String(), print.String())
}

func ink(r chart.Role) chart.Pair { k := r.Ink(); return chart.Pair{Light: k.Light, Dark: k.Dark} }

// sources lists the hashes of inline pieces, exactly as they stand between their tags.
func sources(pieces []string) string {
	if len(pieces) == 0 {
		return " 'none'"
	}
	var b strings.Builder
	for _, s := range pieces {
		sum := sha256.Sum256([]byte(s))
		fmt.Fprintf(&b, " 'sha256-%s'", base64.StdEncoding.EncodeToString(sum[:]))
	}
	return b.String()
}
