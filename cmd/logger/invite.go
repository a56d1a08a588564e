package main

import (
	"fmt"
	"image/color"
	"io"
	"net"
	"strings"

	"flywitness/cmd/internal/cli"

	"github.com/boombuler/barcode/qr"
)

// addresses returns what a phone can type to reach a server at addr: itself, or every address of this machine when it listens
// everywhere. others tells whether anybody but this machine can.
func addresses(addr net.Addr, machine func() ([]net.Addr, error)) (urls []string, others bool) {
	host, port, err := net.SplitHostPort(addr.String())
	ip := net.ParseIP(host)
	if err != nil || ip == nil || !ip.IsUnspecified() {
		return []string{"http://" + addr.String() + "/"}, ip != nil && !ip.IsLoopback()
	}
	list, err := machine()
	if err != nil {
		list = nil
	}
	for _, a := range list {
		n, ok := a.(*net.IPNet)
		if !ok || n.IP.IsLoopback() || n.IP.To4() == nil || n.IP.IsLinkLocalUnicast() {
			continue // a long address is nothing to type
		}
		urls = append(urls, "http://"+net.JoinHostPort(n.IP.String(), port)+"/")
	}
	if best := preferred(); best != "" { // first what this machine speaks to others by
		for i, u := range urls {
			if u == "http://"+net.JoinHostPort(best, port)+"/" {
				urls[0], urls[i] = urls[i], urls[0]
			}
		}
	}
	if len(urls) == 0 {
		return []string{"http://127.0.0.1:" + port + "/"}, true
	}
	return urls, true
}

// preferred returns the address that this machine uses towards others, "" without a network. Nothing is sent: a datagram socket only
// looks up the route; the address is one of those set aside for documentation (RFC 5737).
func preferred() string {
	c, err := net.Dial("udp4", "192.0.2.1:9")
	if err != nil {
		return ""
	}
	defer c.Close()
	host, _, _ := net.SplitHostPort(c.LocalAddr().String())
	return host
}

// square writes an address as a square of half blocks that a phone's camera reads (ISO/IEC 18004), black on white whatever the terminal's
// colours, with a quiet zone of four modules.
func square(text string) (string, error) {
	code, err := qr.Encode(text, qr.M, qr.Auto)
	if err != nil {
		return "", err
	}
	const quiet = 4
	size := code.Bounds().Dx()
	dark := func(x, y int) bool {
		x, y = x-quiet, y-quiet
		return x >= 0 && y >= 0 && x < size && y < size && color.GrayModel.Convert(code.At(x, y)).(color.Gray).Y < 128
	}
	var b strings.Builder
	for y := 0; y < size+2*quiet; y += 2 {
		b.WriteString("\x1b[30;107m")
		for x := range size + 2*quiet {
			b.WriteString(map[[2]bool]string{{false, false}: " ", {true, false}: "▀", {false, true}: "▄", {true, true}: "█"}[[2]bool{dark(x, y), dark(x, y+1)}])
		}
		b.WriteString("\x1b[0m\n")
	}
	return b.String(), nil
}

// invite tells where the page is and who can see it; on a terminal with the address as a square to be scanned.
func (p *page) invite(w io.Writer) {
	if p == nil {
		return
	}
	urls, others := addresses(p.listener.Addr(), net.InterfaceAddrs)
	p.say("the page for the passenger, never for the driver: " + strings.Join(urls, " or "))
	if !others {
		p.say("only this machine can see it; a phone can with --serve 0.0.0.0:PORT")
		return
	}
	p.say("everyone in the same network can see speeds, gear and runs there while the recording lasts; nobody can change anything")
	if _, ok := cli.Terminal(w); !ok {
		return
	}
	if s, err := square(urls[0]); err == nil {
		fmt.Fprint(w, s) // the status line has not begun yet
	}
}
