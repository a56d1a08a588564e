package guide

import "fmt"

// About says what a message of the guide is about, for whoever shows it elsewhere than in a terminal.
type About uint8

const (
	Remark About = iota // a word between, or a caution
	Begins              // a step begins
	Judged              // a run counts, or it does not
	Lift                // slip was seen: the foot has to come off
)

// Message is what the guide says once.
type Message struct {
	About About
	Step  int    // from 1, of a step that begins
	Title string // what the step asks for
	Text  string // the sentence; with a title, how it is done
}

// String is the message as a line of a terminal.
func (m Message) String() string {
	switch {
	case m.About != Begins:
		return m.Text
	case m.Text == "":
		return fmt.Sprintf("%d. %s", m.Step, m.Title)
	}
	return fmt.Sprintf("%d. %s: %s", m.Step, m.Title, m.Text)
}

// say says a word between.
func (g *Guide) say(text string) { g.tells(Message{Text: text}) }

// begins says what a step asks for.
func (g *Guide) begins(s step, title, how string) {
	g.tells(Message{About: Begins, Step: int(s) + 1, Title: title, Text: how})
}
