package adapter

import "fmt"

// countMemory holds how many lines each request is answered with. Told that number behind a request, an adapter returns
// as soon as they came; untold, it waits whether more will come, which costs more time than the reply itself.
type countMemory struct {
	lines  map[string]int
	misses int
}

// maxMisses is after how many replies that came short with a count the adapter is taken for one that gets counts wrong.
const maxMisses = 3

func newCountMemory() countMemory { return countMemory{lines: map[string]int{}} }

// suffix returns what to put behind a request, "" while its number of lines is not known.
func (c *countMemory) suffix(request string) string {
	n := c.lines[request]
	if n < 1 || n > 0xF || c.misses >= maxMisses {
		return ""
	}
	return fmt.Sprintf("%X", n)
}

// learn keeps the number of lines of a whole reply that was not limited.
func (c *countMemory) learn(request string, lines int) { c.lines[request] = lines }

// miss forgets a count under which the reply was not whole.
func (c *countMemory) miss(request string) {
	delete(c.lines, request)
	c.misses++
}

// hit notes that counting works.
func (c *countMemory) hit() { c.misses = 0 }
