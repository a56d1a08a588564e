package influx

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"

	"flywitness/drive"

	protocol "github.com/influxdata/line-protocol"
)

// Measurements and the names in them (docs/database.md). A name that begins with an underscore is the database's own.
const (
	driveMeasurement   = "drive"
	sessionMeasurement = "session"
	noteMeasurement    = "note"
	findingMeasurement = "finding"

	vehicleTag = "vehicle"
	driveTag   = "drive"

	// orderField stands in the rare row whose time and place in the file cannot be told from its time stamp.
	orderField = "order"
)

// point is one line of the line protocol.
type point struct {
	name   string
	tags   []*protocol.Tag
	fields []*protocol.Field
	at     time.Time
}

func (p *point) Time() time.Time              { return p.at }
func (p *point) Name() string                 { return p.name }
func (p *point) TagList() []*protocol.Tag     { return p.tags }
func (p *point) FieldList() []*protocol.Field { return p.fields }

func (p *point) add(key string, value any) {
	p.fields = append(p.fields, &protocol.Field{Key: key, Value: value})
}

// line returns the point as the line protocol has it.
func (p *point) line() (string, error) {
	var b bytes.Buffer
	e := protocol.NewEncoder(&b)
	e.FailOnFieldErr(true)
	if _, err := e.Encode(p); err != nil {
		return "", fmt.Errorf("%s: cannot be written for the database: %w", p.name, err)
	}
	return strings.TrimSuffix(b.String(), "\n"), nil
}

// driveLines turns the rows of one session into lines.
//
// A value's time is that of the session's start plus time_s, to the nanosecond. Two values of one channel at one time
// would be one point to the database, and it does not keep the order of a file. So a row that repeats or goes back in
// time for one of its channels, or whose time_s has more than six decimals, stands a few nanoseconds later where
// nothing else stands, and carries its time_s and the places of its values in their channels in a field of its own.
// Recordings of this program's logger have next to none.
type driveLines struct {
	tags     []*protocol.Tag
	created  time.Time
	channels []*drive.Channel
	last     []int64        // µs of the latest plain value of each channel
	count    []int          // values of each channel so far
	taken    map[int64]bool // ns of the rows that carry their order
	note     int64          // ns of the last note
	values   int
	notes    int
	first    float64 // s
	end      float64 // s
}

// newDriveLines refuses a session that the database cannot hold.
func newDriveLines(l *drive.Log, vehicle string) (*driveLines, error) {
	if l.Created.IsZero() {
		return nil, fmt.Errorf("%s does not say when it was recorded (created), so it has no place in a database", l.Path)
	}
	if _, err := inReach(l.Created); err != nil {
		return nil, fmt.Errorf("%s: %w", l.Path, err)
	}
	for _, c := range l.Channels {
		if err := fieldName(c.Name); err != nil {
			return nil, fmt.Errorf("%s: %w", l.Path, err)
		}
	}
	start := driveStart(l)
	d := &driveLines{
		tags:    []*protocol.Tag{{Key: driveTag, Value: tagOfDrive(start)}, {Key: vehicleTag, Value: vehicle}},
		created: start, channels: l.Channels, last: make([]int64, len(l.Channels)), count: make([]int, len(l.Channels)),
		taken: map[int64]bool{}, note: math.MinInt64, first: math.Inf(1), end: math.Inf(-1),
	}
	for i := range d.last {
		d.last[i] = math.MinInt64
	}
	return d, nil
}

// driveStart is when a drive began in the database. A recording whose file failed goes on in another one with the
// same beginning (the header's part counts them): each is a drive of its own, a nanosecond apart.
func driveStart(l *drive.Log) time.Time {
	part, err := strconv.Atoi(l.HeaderValue("part"))
	if err != nil || part < 2 || part > 999 {
		return l.Created
	}
	return l.Created.Add(time.Duration(part - 1))
}

func fieldName(name string) error {
	bad := name == orderField || name == "time" || strings.HasPrefix(name, "_") || strings.HasSuffix(name, `\`) ||
		strings.ContainsFunc(name, unicode.IsControl)
	if bad {
		return fmt.Errorf("the database cannot hold a channel named %q: rename the column", name)
	}
	return nil
}

// furthest is the largest time_s that is taken, 30 years: what lies beyond is no drive.
const furthest = 1e9

// row returns the line of a row, "" where it holds nothing.
func (d *driveLines) row(r drive.Row) (string, error) {
	if r.Note != nil {
		return d.noteLine(*r.Note)
	}
	if len(r.Cells) == 0 {
		return "", nil
	}
	if err := d.reach(r.T); err != nil {
		return "", err
	}
	d.first, d.end = math.Min(d.first, r.T), math.Max(d.end, r.T)
	p := point{name: driveMeasurement, tags: d.tags}
	micro := int64(math.Floor(r.T * 1e6))
	if round := math.Round(r.T * 1e6); round/1e6 == r.T {
		micro = int64(round)
	}
	plain := float64(micro)/1e6 == r.T
	order := strconv.FormatFloat(r.T, 'g', -1, 64)
	for _, c := range r.Cells {
		p.add(d.channels[c.Channel].Name, c.Value)
		order += " " + strconv.Itoa(d.count[c.Channel])
		plain = plain && micro > d.last[c.Channel]
		d.count[c.Channel]++
		d.values++
	}
	nano := micro * 1000
	if plain {
		for _, c := range r.Cells {
			d.last[c.Channel] = micro
		}
	} else {
		nano = d.free(nano)
		p.add(orderField, order)
	}
	p.at = d.created.Add(time.Duration(nano))
	return p.line()
}

// free returns the first nanosecond behind a microsecond at which nothing stands. Plain rows stand on whole
// microseconds.
func (d *driveLines) free(nano int64) int64 {
	for nano++; nano%1000 == 0 || d.taken[nano]; nano++ {
	}
	d.taken[nano] = true
	return nano
}

func (d *driveLines) reach(t float64) error {
	if math.Abs(t) > furthest {
		return fmt.Errorf("time_s %g cannot be the time of a drive", t)
	}
	_, err := inReach(d.created.Add(time.Duration(t * 1e9)))
	return err
}

// noteLine keeps the order of the notes: one that is not later than the last stands a nanosecond behind it.
func (d *driveLines) noteLine(n drive.Note) (string, error) {
	if err := d.reach(n.T); err != nil {
		return "", err
	}
	d.note = max(int64(math.Round(n.T*1e9)), d.note+1)
	d.notes++
	p := point{name: noteMeasurement, tags: d.tags, at: d.created.Add(time.Duration(d.note))}
	p.add("text", noBreaks(n.Text))
	p.add("time_s", n.T)
	return p.line()
}

// noBreaks writes a text as JSON does: a line break within it would end its line, and the database knows no mark for
// one.
func noBreaks(s string) string {
	b, err := json.Marshal(s)
	if err != nil {
		return `""`
	}
	return string(b)
}
