package adapter

import "fmt"

// countMemory holds how many lines each request is answered with. Told that number behind a request, an adapter returns
// as soon as they came; untold, it waits whether more will come, which costs more time than the reply itself.
//
// A count that did not work is only doubted: the car may have been silent. When the same request then is answered
// without a count, the count was to blame.
type countMemory struct {
	requests map[string]*counted
	hits     int // counted replies that were whole
	misses   int // counts that were to blame, while there was no hit at all
}

// counted is what is known of one request.
type counted struct {
	lines   int  // of its reply, 0 while unknown
	doubted bool // the last one with a count was not answered whole
	misses  int  // in a row, without a hit between
	off     int  // whole replies until a count is tried again; 0 while counts are in use
	pause   int  // how long counts were off the last time
}

// maxMisses is after how many replies that the count spoilt it is given up.
const maxMisses = 3

// firstPause is for how many replies a count is given up at first; each time that it fails again at once, for twice as many.
const firstPause = 200

func newCountMemory() countMemory { return countMemory{requests: map[string]*counted{}} }

func (m *countMemory) of(request string) *counted {
	c := m.requests[request]
	if c == nil {
		c = &counted{}
		m.requests[request] = c
	}
	return c
}

// never tells whether the adapter has shown that it cannot count at all.
func (m *countMemory) never() bool { return m.hits == 0 && m.misses >= maxMisses }

// suffix returns what to put behind a request, "" while its number of lines is not known.
func (m *countMemory) suffix(request string) string {
	c := m.of(request)
	if c.lines < 1 || c.lines > 0xF || c.off > 0 || m.never() {
		return ""
	}
	return fmt.Sprintf("%X", c.lines)
}

// learn takes a whole reply that was not limited.
func (m *countMemory) learn(request string, lines int) {
	c := m.of(request)
	c.lines = lines
	if c.off > 0 {
		if c.off--; c.off == 0 {
			c.misses = maxMisses - 1
		}
	}
	if !c.doubted {
		return
	}
	c.doubted = false
	c.misses++
	m.misses++
	if c.misses >= maxMisses {
		c.giveUp()
	}
}

// hit takes a whole reply to a counted request.
func (m *countMemory) hit(request string) {
	c := m.of(request)
	c.misses, c.pause, c.doubted = 0, 0, false
	m.hits++
}

// fail takes a request that was not answered whole.
func (m *countMemory) fail(request string, withCount bool) {
	c := m.of(request)
	c.doubted = withCount // without a count it was not the count
	if withCount {
		c.lines = 0
	}
}

// foreign takes a reply in which the engine's control unit is missing: with a count, another one has taken its place.
func (m *countMemory) foreign(request string, withCount bool) {
	c := m.of(request)
	c.lines = 0
	if withCount {
		c.giveUp()
	}
}

func (c *counted) giveUp() {
	c.pause = max(firstPause, 2*c.pause)
	c.off, c.misses, c.doubted = c.pause, 0, false
}
