package csvlog

import (
	"maps"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"flywitness/drive"

	"golang.org/x/text/unicode/norm"
)

// plainWords may stand in any heading.
const plainWords = "sensor signal value actual act ist current cur obd obd2 obdii eobd ecu ems ecm pcm can pid sae j1979 data the of du de del der des di do da la le no number " +
	"per in i l 1 2 0 0x0c 0x0d 0c 0d 010c 010d mode service 01 istwert measured meas gemessen raw log ch channel bus hs engine1"

// otherThings turn any heading into a quantity that was wanted, limited or computed, not measured.
const otherThings = "target desired setpoint set soll sollwert consigne requested request commanded command cmd demand demanded limit limiter max maximum minimum avg average mean median " +
	"error err delta diff difference deviation variance stddev std sigma rms covariance confidence uncertainty accuracy variation change gradient rate derivative learn learned adaptation status flag valid quality cruise count counter peak since resolution offset " +
	"trim correction slip ratio predicted modelled ziel mittel moyenne media objectif obiettivo objetivo " +
	"previous preceding lead ahead relative lateral wiper window conversion factor rated nominal roller drum permitted allowed " +
	"maximale limite cible maxima massima massimo minimo minima medio crucero alvo gemiddelde gewenste onskad borvarde srednia zadana zadane zadany maksymalna " +
	"ograniczenie docelowa prumerna maximalni pozadovana заданные заданная заданный желаемые желаемая желаемый целевая целевые ограничение максимальная средняя холостого хх " +
	"목표 제한 설정 최고 최대 평균 최소"

// rank says how well a heading names a channel; higher is better, 0 is not at all.
type rank int

const (
	noMatch  rank = 0
	doubtful rank = 1 // a phrase, with words beside it that nobody knows
	second   rank = 2 // a redundant copy
	weak     rank = 3
	strong   rank = 4
	exact    rank = 5 // the canonical name
)

// rankOf matches the words of a heading against one channel; cut tells that they may be cut short.
func (q *lexicon) rankOf(words []string, whole string, cut bool) rank {
	if whole == q.channel {
		return exact
	}
	best := noMatch
	for _, p := range q.phrases {
		if !containsAll(words, p.words, cut) {
			continue
		}
		r := p.rank
		for _, w := range words {
			switch {
			case p.has[w]:
			case q.not[w]:
				r = noMatch
			case q.also[w]:
			case q.second[w]:
				r = min(r, second)
			case !slices.ContainsFunc(p.words, func(long string) bool { return shortFor(w, long) }) && q.shortForOther(w):
				r = noMatch
			default:
				r = min(r, doubtful)
			}
		}
		best = max(best, r)
	}
	return best
}

// namedIn tells whether any of the phrases is in words, whatever stands beside it.
func (q *lexicon) namedIn(words []string) bool {
	for i := range q.phrases {
		if containsAll(words, q.phrases[i].words, false) {
			return true
		}
	}
	return false
}

// shortest is how many letters of a word stand for it: "vel" for "velocidad", "geschw" for "geschwindigkeit".
const shortest = 3

// shortFor tells whether a word that nobody knows is another one cut short.
func shortFor(w, long string) bool {
	return len(w) < len(long) && strings.HasPrefix(long, w) && utf8.RuneCountInString(w) >= shortest && !vocabulary[w]
}

// shortForOther tells whether it is one cut short that makes a heading something else.
func (q *lexicon) shortForOther(w string) bool {
	if vocabulary[w] {
		return false
	}
	for long := range q.not {
		if shortFor(w, long) {
			return true
		}
	}
	return false
}

// containsAll tells whether all the wanted words are there, in full or, where they may be, cut short.
func containsAll(words, want []string, cut bool) bool {
	for _, w := range want {
		found := false
		for _, have := range words {
			found = found || have == w || cut && shortFor(have, w)
		}
		if !found {
			return false
		}
	}
	return true
}

// lexicon is the headings of a channel (drive.Heading) with its word lists made ready.
type lexicon struct {
	channel           string
	unit              string // canonical, in the spelling of package vehicle; "" for a number or a switch
	low, high         float64
	phrases           []phrase
	also, not, second map[string]bool
}

type phrase struct {
	words []string
	has   map[string]bool
	rank  rank
}

var lexicons, vocabulary = buildLexicons()

func buildLexicons() ([]*lexicon, map[string]bool) {
	plain, other := wordSet(plainWords), wordSet(otherThings)
	with := func(words map[string]bool, more string) map[string]bool {
		all := maps.Clone(words)
		maps.Copy(all, wordSet(more))
		return all
	}
	vocab := with(plain, timeWords)
	maps.Copy(vocab, other)
	var out []*lexicon
	for _, d := range drive.Definitions() {
		h := d.Heading
		l := &lexicon{channel: d.Name, unit: d.Unit, low: d.Low, high: d.High, also: with(plain, h.Also), not: with(other, h.Not),
			second: wordSet(h.Second)}
		for _, w := range strings.Fields(h.Own + " " + h.Second) {
			delete(l.not, w)
		}
		for w := range l.second {
			delete(l.also, w)
		}
		for r, list := range map[rank][]string{strong: h.Strong, weak: h.Weak} {
			for _, p := range list {
				words := strings.Fields(fold(p))
				l.phrases = append(l.phrases, phrase{words, wordSet(p), r})
				for _, w := range words {
					vocab[w] = true
				}
			}
		}
		for _, list := range []string{h.Also, h.Not, h.Second} {
			for w := range wordSet(list) {
				vocab[w] = true
			}
		}
		out = append(out, l)
	}
	return out, vocab
}

func wordSet(s string) map[string]bool {
	words := strings.Fields(fold(s))
	m := make(map[string]bool, len(words))
	for _, w := range words {
		m[w] = true
	}
	return m
}

// fold returns s in lower case without accents.
func fold(s string) string {
	if isASCII(s) {
		return strings.ToLower(s)
	}
	bare := strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Mn, r) {
			return -1
		}
		return r
	}, norm.NFKD.String(s))
	return strings.ReplaceAll(strings.ToLower(norm.NFC.String(bare)), "ß", "ss")
}

// wordsOf cuts a heading into folded words: at anything that is neither letter nor digit, where a capital follows a small letter, and
// where two known words were written as one.
func wordsOf(s string) []string {
	var spaced strings.Builder
	var last rune
	for _, r := range s {
		if unicode.IsUpper(r) && unicode.IsLower(last) {
			spaced.WriteByte(' ')
		}
		spaced.WriteRune(r)
		last = r
	}
	var out []string
	text := lostLetters.ReplaceAllString(fold(spaced.String()), lost+"$1")
	for _, w := range strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != lostRune }) {
		if strings.ContainsRune(w, lostRune) {
			out = append(out, withLetters(w)...)
			continue
		}
		out = append(out, splitKnown(w)...)
	}
	return out
}

// lostLetters are letters that an encoding did not have: "R?gime".
var lostLetters = regexp.MustCompile(`[?\x{FFFD}]+(\pL)`)

const (
	lostRune = '\uFFFD'
	lost     = string(lostRune)
)

// withLetters returns the one known word that w is with its lost letters, else its pieces.
func withLetters(w string) []string {
	var found []string
	for known := range vocabulary {
		if sameButLost(w, known) {
			found = append(found, known)
		}
	}
	if len(found) == 1 {
		return found
	}
	return strings.FieldsFunc(w, func(r rune) bool { return r == lostRune })
}

// sameButLost tells whether w is known but for lost letters.
func sameButLost(w, known string) bool {
	a, b := []rune(w), []rune(known)
	if len(a) != len(b) {
		return false
	}
	for i, r := range a {
		if r != lostRune && r != b[i] {
			return false
		}
	}
	return true
}

// splitKnown cuts "enginerpm" into the two known words it is made of.
func splitKnown(w string) []string {
	if vocabulary[w] || len(w) < 6 {
		return []string{w}
	}
	for i := 3; i <= len(w)-3; i++ {
		if vocabulary[w[:i]] && vocabulary[w[i:]] {
			return []string{w[:i], w[i:]}
		}
	}
	return []string{w}
}
