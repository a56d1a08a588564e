package cli

import (
	"io"
	"os"
	"runtime"

	"golang.org/x/term"
)

// width is the width that text is wrapped to where it does not go to a terminal, and the most on a wide one: longer lines
// are hard to read.
const width = 100

// leastWidth keeps a window that is all but closed from giving one word a line.
const leastWidth = 40

// Tone says what a painted text means.
type Tone int

// The tones. Colour never says anything alone.
const (
	Plain Tone = iota
	Strong
	Good
	Act
	Open
)

// Codes of ECMA-48, select graphic rendition: bold, then green, red and yellow of the terminal's own palette, which keeps
// them readable on light and on dark. From memory.
var paints = map[Tone]string{Strong: "\x1b[1m", Good: "\x1b[1;32m", Act: "\x1b[1;31m", Open: "\x1b[1;33m"}

// layout is how text is written where it goes.
type layout struct {
	width  int
	colour bool
}

func (l layout) paint(tone Tone, s string) string {
	if code := paints[tone]; l.colour && code != "" && s != "" {
		return code + s + "\x1b[0m"
	}
	return s
}

// layoutFor returns the layout for what goes to w.
func layoutFor(w io.Writer) layout {
	fd, ok := Terminal(w)
	if !ok {
		return layout{width: width}
	}
	return layout{width: terminalWidth(fd, width), colour: wantsColour(os.Getenv)}
}

// Terminal returns the descriptor of a writer that is a terminal.
func Terminal(w io.Writer) (fd int, ok bool) {
	f, isFile := w.(*os.File)
	if !isFile || !term.IsTerminal(int(f.Fd())) {
		return 0, false
	}
	return int(f.Fd()), true
}

// LineWidth returns how wide a line of text that goes to w may be.
func LineWidth(w io.Writer) int { return layoutFor(w).width }

func terminalWidth(fd, most int) int {
	columns, _, err := term.GetSize(fd)
	if err != nil || columns <= 0 {
		return most
	}
	return min(max(columns, leastWidth), most)
}

// wantsColour follows no-color.org (from memory): any text in NO_COLOR is a no. A terminal that calls itself dumb has none,
// and on Windows only the newer terminal is sure to know the codes.
func wantsColour(env func(string) string) bool {
	switch {
	case env("NO_COLOR") != "", env("TERM") == "dumb":
		return false
	case runtime.GOOS == "windows":
		return env("WT_SESSION") != ""
	}
	return true
}
