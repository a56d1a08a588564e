package influx

import (
	"context"
	"encoding/json"
	"errors"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/influxd"
	"flywitness/internal/numbers"
)

// impatient is for what never answers; everything else gets the usual patience, for a busy machine is no fault.
const impatient = 300 * time.Millisecond

// through opens the database behind a proxy.
func through(t *testing.T, db *influxd.Server, p *faultProxy) *Server {
	return open(t, db, func(o *Options) { o.URL = p.URL })
}

// allThere fails unless the server holds just the good values of the log.
func allThere(t *testing.T, db *influxd.Server, file *drive.Log) {
	t.Helper()
	if got, want := db.Values("drive"), values(file); got != want {
		t.Errorf("%d values on the server, %d good ones in the file", got, want)
	}
}

// TestNothingIsLostOnABadNetwork sends one file through one fault after another.
func TestNothingIsLostOnABadNetwork(t *testing.T) {
	t.Parallel()
	const rows = 12000 // three batches
	recorded := usual(t, "2026-05-09T08:00:00Z", "Mule", rows)
	text, err := os.ReadFile(recorded)
	if err != nil {
		t.Fatal(err)
	}
	file := fromFile(t, recorded)
	for name, script := range map[string][]fault{
		"hangs":           {nil, hang, hang},
		"reset mid-body":  {nil, resetMidBody, resetMidBody, nil, resetMidBody},
		"lost answers":    {lostAnswer, lostAnswer, nil, lostAnswer},
		"half an answer":  {nil, half, half},
		"503 then well":   {status(503, "Retry-After", "7", `{"code":"unavailable","message":"busy"}`), nil, status(503, "", "", "")},
		"429":             {nil, status(429, "Retry-After", "120", "{}"), status(429, "", "", "")},
		"asks for a year": {nil, status(503, "Retry-After", "31536000", "{}")},
		"too large":       {nil, status(413, "", "", "request entity too large"), status(413, "", "", "")},
		"disk full": {nil, status(500, "X-Influxdb-Error", "engine: error writing WAL entry: write /db/wal/_00001.wal: no space left on device",
			`{"error":"engine: error writing WAL entry: write /db/wal/_00001.wal: no space left on device"}`)},
		"sign-in page": {status(200, "Content-Type", "text/html", "<h1>Welcome, guest</h1>"), nil, status(200, "Content-Type", "text/html", "<h1>Welcome, guest</h1>")},
		"slow":         {slow, slow, slow},
	} {
		t.Run(name, func(t *testing.T) {
			if name != "hangs" && name != "lost answers" { // two ways to fail, which run every goroutine
				numbers.Only(t)
			}
			t.Parallel()
			db := influxd.Share(t)
			path := filepath.Join(t.TempDir(), "drive.csv") // the cursor is written beside it
			if err := os.WriteFile(path, text, 0o644); err != nil {
				t.Fatal(err)
			}
			p := newProxy(t, db.URL, script...)
			clock := newQuick()
			var said []string
			server := through(t, db, p)
			if name == "hangs" {
				server = open(t, db, func(o *Options) { o.URL, o.Patience = p.URL, impatient })
			}
			r, err := (&Sender{Server: server, Clock: clock, Tell: func(s State) { said = append(said, s.Waiting) }}).Send(context.Background(), path)
			if err != nil || r.Refused != 0 || r.Rows != rows {
				t.Fatalf("%+v, %v, %q", r, err, said)
			}
			allThere(t, db, file)
			same(t, file, fetch(t, open(t, db), r.Name)[0])
			if len(p.script) > 0 {
				t.Errorf("%d faults were not met in %d writes", len(p.script), p.writes)
			}
			heard := strings.Join(said, "")
			if waits := len(clock.slept) > 0; waits != (name != "slow" && name != "too large") || waits != (heard != "") {
				t.Errorf("waited %v, said %q", clock.slept, said)
			}
			if name == "asks for a year" && clock.slept[0] != time.Hour {
				t.Errorf("waited %v", clock.slept)
			}
			if name == "429" && clock.slept[0] != 2*time.Minute || name == "503 then well" && clock.slept[0] != 7*time.Second {
				t.Errorf("the server asked to be left alone; waited %v", clock.slept)
			}
			if strings.Contains(heard, "sesame") {
				t.Errorf("the password is told: %q", heard)
			}
		})
	}
}

// later is a clock on which something happens at the n-th wait.
type later struct {
	*quick
	at map[int]func()
}

func (l *later) Sleep(ctx context.Context, d time.Duration) error {
	if f := l.at[len(l.slept)]; f != nil {
		f()
	}
	return l.quick.Sleep(ctx, d)
}

// TestServerThatIsDownAtTheStartAndFallsLater: the server is not there when the sending begins, and in the middle of the drive its disk is full (see
// fillDisk). Version 1.8 goes on refusing until it is started again with room.
func TestServerThatIsDownAtTheStartAndFallsLater(t *testing.T) {
	numbers.Only(t)
	t.Parallel()
	db := influxd.StartForWrites(t)
	path := usual(t, "2026-05-09T08:00:00Z", "Mule", 20000)
	db.Kill()
	clock := &later{newQuick(), map[int]func(){}}
	waits, full, said := 0, false, ""
	clock.at[9] = db.Restart
	s := &Sender{Server: open(t, db), Clock: clock}
	s.Tell = func(st State) {
		if st.Waiting != "" {
			waits++
			said = st.Waiting
		}
		if st.Rows >= 10000 && !full {
			full = true
			fillDisk(t, db)
			clock.at[len(clock.slept)+3] = func() { db.Kill(); db.Restart() }
		}
	}
	r, err := s.Send(context.Background(), path)
	if err != nil || r.Rows != 20000 || r.Refused != 0 || waits < 12 || !strings.Contains(said, diskFull) {
		t.Errorf("%+v, %v, waited %d times, said %q", r, err, waits, said)
	}
	for i, want := range []time.Duration{1, 2, 4, 8, 16, 32, 60, 60} {
		if clock.slept[i] != want*time.Second {
			t.Errorf("wait %d was %v, want %d s", i, clock.slept[i], want)
		}
	}
	allThere(t, db, fromFile(t, path))
}

// TestRefusedRows: the type of a field on the server does not fit, and old points lie beyond its retention. What the
// server takes is there; what it refuses is in a file with its reason.
func TestRefusedRows(t *testing.T) {
	numbers.Only(t)
	t.Parallel()
	db := influxd.Share(t)
	s := open(t, db)
	path := usual(t, "2026-05-09T08:00:00Z", "Mule", 7000)
	if f := s.writeLines(context.Background(), []string{`drive,drive=x,vehicle=Mule engine_speed_rpm="fast" 1778313600000000001`}); f != nil {
		t.Fatal(f)
	}
	r := send(t, s, path)
	text, err := os.ReadFile(path + ".rejected")
	if err != nil || r.Refused != 7000 || r.RejectedFile != path+".rejected" {
		t.Fatalf("%+v, %v", r, err)
	}
	if !strings.Contains(string(text), "field type conflict") || strings.Count(string(text), "\ndrive,") != 7000 {
		t.Errorf("%.300s", text)
	}
	if r = send(t, s, path); r.Rows != 0 || r.Refused != 7000 {
		t.Errorf("sent again, the refusal is forgotten: %+v", r)
	}
	logs := fetch(t, s, r.Name)
	if len(logs) != 1 || logs[0].Warnings[len(logs[0].Warnings)-1].Code != finding.DriveIncomplete || logs[0].SHA256 == fromFile(t, path).SHA256 {
		t.Errorf("a drive of which half was refused passes for whole: %+v", logs[0].Warnings)
	}
	// Put right, and sent anew.
	db.InfluxQL(`DROP MEASUREMENT "drive"`)
	r, err = (&Sender{Server: s, Clock: newQuick(), Afresh: true}).Send(context.Background(), path)
	if err != nil || r.Refused != 0 {
		t.Errorf("%+v, %v", r, err)
	}
	if _, err := os.Stat(path + ".rejected"); err == nil {
		t.Error("the file of refused rows outlives their being sent")
	}
	same(t, fromFile(t, path), fetch(t, s, r.Name)[0])
}

func TestPointsBeyondRetention(t *testing.T) {
	t.Parallel()
	db := influxd.Share(t)
	db.InfluxQL(`CREATE RETENTION POLICY "week" ON "` + db.DB() + `" DURATION 7d REPLICATION 1`)
	s := open(t, db, func(o *Options) { o.Bucket = db.DB() + "/week" })
	path := usual(t, "2006-05-09T08:00:00Z", "Mule", 100)
	r := send(t, s, path)
	if text, err := os.ReadFile(path + ".rejected"); err != nil || !strings.Contains(string(text), "retention") || r.Refused < 100 {
		t.Errorf("%+v, %v, %s", r, err, text)
	}
}

// TestKilledBetweenSuccessAndCursor kills a sender of its own process with signal 9 when the server holds a batch and
// the sender does not know it yet.
func TestKilledBetweenSuccessAndCursor(t *testing.T) {
	t.Parallel()
	db := influxd.Share(t)
	path := usual(t, "2026-05-09T08:00:00Z", "Mule", 12000)
	child := make(chan *os.Process, 1)
	kill := func(p *faultProxy, w http.ResponseWriter, r *http.Request, _ []byte) {
		lostAnswer(p, w, r, nil)
		select {
		case c := <-child:
			_ = c.Kill()
		default: // it is dead already
		}
	}
	p := newProxy(t, db.URL, nil, nil, kill)
	cmd := exec.Command(os.Args[0], "-test.run", "TestChildSends")
	cmd.Env = append(os.Environ(), "FLYWITNESS_SEND="+path, "FLYWITNESS_URL="+p.URL, "FLYWITNESS_BUCKET="+db.Bucket)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	child <- cmd.Process
	if err := cmd.Wait(); err == nil {
		t.Fatal("the sender was not killed")
	}
	var places map[string]place
	data, err := os.ReadFile(path + cursorSuffix)
	if err == nil {
		err = json.Unmarshal(data, &places)
	}
	held := db.Values("drive")
	if err != nil || len(places) != 1 || held != 20000 {
		t.Fatalf("%d values on the server, cursor %s, %v", held, data, err)
	}
	r := send(t, through(t, db, p), path)
	if r.Rows != 7000 {
		t.Errorf("%d rows sent again, want the batch that was under way and the rest", r.Rows)
	}
	allThere(t, db, fromFile(t, path))
}

// TestChildSends is the process that TestKilledBetweenSuccessAndCursor kills; by itself it tests nothing.
func TestChildSends(t *testing.T) {
	path := os.Getenv("FLYWITNESS_SEND")
	if path == "" {
		return
	}
	s, err := New(Options{URL: os.Getenv("FLYWITNESS_URL"), Bucket: os.Getenv("FLYWITNESS_BUCKET"), Token: influxd.Token})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := (&Sender{Server: s, Clock: newQuick()}).Send(context.Background(), path); err != nil {
		t.Fatal(err)
	}
}

// A cursor that is damaged, of another recording, or beyond the file's end is not believed.
func TestCursorIsNotBelievedBlindly(t *testing.T) {
	t.Parallel()
	db := influxd.Share(t)
	s := open(t, db)
	path := usual(t, "2026-05-09T08:00:00Z", "Mule", 300)
	send(t, s, path)
	for _, text := range []string{"", "{", "null", "[1]", `{"x":1}`, strings.Repeat("\x00", 100)} {
		if err := os.WriteFile(path+cursorSuffix, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		if r := send(t, s, path); r.Rows != 300 {
			t.Errorf("cursor %q: %d rows sent", text, r.Rows)
		}
	}
	other, err := os.ReadFile(usual(t, "2026-05-10T08:00:00Z", "Mule", 200))
	if err == nil {
		err = os.WriteFile(path, other, 0o644)
	}
	if err != nil {
		t.Fatal(err)
	}
	if r := send(t, s, path); r.Rows != 200 {
		t.Errorf("another recording under the same name: %d rows sent", r.Rows)
	}
	data, err := os.ReadFile(path + cursorSuffix)
	if err != nil || strings.Contains(string(data), "sesame") {
		t.Errorf("the cursor holds %s, %v", data, err)
	}
}

// follow writes a session while it is sent. At the k-th wait of the sender step k is done.
func follow(t *testing.T, s *Server, steps ...func(w *drive.SessionWriter)) (string, Report, *later, error) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "live.csv")
	w, err := drive.CreateSession(path, []drive.Field{{Key: "created", Value: "2026-05-09T10:15:00Z"}, {Key: "vehicle", Value: "Mule"}}, []string{drive.EngineSpeed, drive.VehicleSpeed})
	if err != nil {
		t.Fatal(err)
	}
	clock := &later{newQuick(), map[int]func(){}}
	ended := make(chan struct{})
	for i, step := range steps {
		clock.at[i] = func() { step(w) }
	}
	clock.at[len(steps)] = func() {
		if err := w.Close(); err != nil {
			t.Error(err)
		}
		close(ended)
	}
	r, err := (&Sender{Server: s, Clock: clock, Grace: 5 * time.Second}).Follow(context.Background(), path, ended)
	return path, r, clock, err
}

// rows adds rows to a session from second at.
func rows(t *testing.T, at, n int) func(w *drive.SessionWriter) {
	return func(w *drive.SessionWriter) {
		for i := range n {
			v := float64(i)
			if err := w.WriteRow(float64(at)+float64(i)/100, []drive.Cell{{Channel: i % 2, Value: v}}); err != nil {
				t.Error(err)
			}
		}
	}
}

func TestSentWhileItIsRecorded(t *testing.T) {
	t.Parallel()
	db := influxd.Share(t)
	s := open(t, db)
	seen := 0
	path, r, _, err := follow(t, s, rows(t, 0, 20), rows(t, 1, 20), func(w *drive.SessionWriter) {
		seen = db.Values("drive") // while the recording goes on
		part := fetch(t, s, "influx:vehicle=Mule")[0]
		if part.Rows != 40 || len(part.Warnings) != 1 || part.Warnings[0].Code != finding.DriveIncomplete {
			t.Errorf("%d rows, %+v", part.Rows, part.Warnings)
		}
		rows(t, 2, 20)(w)
	}, rows(t, 3, 7))
	if err != nil || r.Rows != 67 || seen != 40 {
		t.Errorf("%+v, %v, %d values were there in between", r, err, seen)
	}
	same(t, fromFile(t, path), fetch(t, s, r.Name)[0])
}

// A recording that ends without a network leaves its rows for push; so does one whose token is wrong until the end.
func TestLeftForPush(t *testing.T) {
	t.Parallel()
	db := influxd.Share(t)
	gone, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	gone.Close()
	path, _, _, err := follow(t, open(t, db, func(o *Options) { o.URL = "http://" + gone.Addr().String() }), rows(t, 0, 20), rows(t, 1, 20))
	if !errors.Is(err, ErrLeft) || !strings.Contains(err.Error(), "refused") {
		t.Errorf("%v", err)
	}
	if r := send(t, open(t, db), path); r.Rows != 40 {
		t.Errorf("%+v", r)
	}
	_, _, clock, err := follow(t, open(t, db, func(o *Options) { o.Token = "admin:no" }), rows(t, 0, 20), rows(t, 1, 20))
	var f *Fault
	if !errors.As(err, &f) || f.Kind != NotAllowed || len(clock.slept) < 2 {
		t.Errorf("%v after %v", err, clock.slept)
	}
}

// TestShopCertificate: a certificate of the shop's own is trusted only by name of its file.
func TestShopCertificate(t *testing.T) {
	t.Parallel()
	db := influxd.Share(t)
	p := &faultProxy{to: db.URL}
	front := httptest.NewTLSServer(p)
	t.Cleanup(front.Close)
	path := usual(t, "2026-05-09T08:00:00Z", "Mule", 50)
	name, err := ParseName("influx:vehicle=Mule", time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := open(t, db, func(o *Options) { o.URL = front.URL }).Open(context.Background(), name); err == nil || !strings.Contains(err.Error(), "certificate") {
		t.Errorf("a certificate of nobody is trusted: %v", err)
	}
	ca := filepath.Join(t.TempDir(), "ca.pem")
	if err := os.WriteFile(ca, pemOf(front.Certificate().Raw), 0o644); err != nil {
		t.Fatal(err)
	}
	s := open(t, db, func(o *Options) { o.URL, o.CAFile = front.URL, ca })
	same(t, fromFile(t, path), fetch(t, s, send(t, s, path).Name)[0])
}

// A drive that is read through a bad network is an error or whole, never a part that passes for whole.
func TestReadingThroughABadNetwork(t *testing.T) {
	t.Parallel()
	db := influxd.Share(t)
	path := usual(t, "2026-05-09T08:00:00Z", "Mule", 3000)
	name, err := ParseName(send(t, open(t, db), path).Name, time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	for what, c := range map[string]struct {
		asked []fault
		want  string
	}{
		"hangs":              {[]fault{nil, hang}, "no answer in time"},
		"breaks off":         {[]fault{nil, broken}, "reset"},
		"breaks off at once": {[]fault{broken}, "reset"},
		"503":                {[]fault{nil, status(503, "", "", `{"code":"unavailable","message":"busy"}`)}, "503"},
		"sign-in page":       {[]fault{status(200, "Content-Type", "text/html", "<h1>Welcome</h1>")}, "not an InfluxDB"},
	} {
		p := newProxy(t, db.URL)
		p.asked = c.asked
		server := through(t, db, p)
		if what == "hangs" {
			server = open(t, db, func(o *Options) { o.URL, o.Patience = p.URL, impatient })
		}
		logs, err := server.Open(context.Background(), name)
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "sesame") {
			t.Errorf("%s: %d logs, %v", what, len(logs), err)
		}
	}
}

// A redirect would carry the token to another address.
func TestRedirectIsNotFollowed(t *testing.T) {
	t.Parallel()
	db := influxd.Share(t)
	asked := 0
	elsewhere := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { asked++ }))
	defer elsewhere.Close()
	p := newProxy(t, db.URL, status(307, "Location", elsewhere.URL, ""))
	_, err := (&Sender{Server: through(t, db, p), Clock: newQuick()}).Send(context.Background(), usual(t, "2026-05-09T08:00:00Z", "Mule", 50))
	if err == nil || asked > 0 || !strings.Contains(err.Error(), "redirect") {
		t.Errorf("%v, asked %d times", err, asked)
	}
}

func TestWhatCannotBeSent(t *testing.T) {
	t.Parallel()
	s := open(t, influxd.Share(t))
	file := func(text string) string {
		path := filepath.Join(t.TempDir(), "x.csv")
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	const head = "# format: session 1\n# created: 2026-05-09T08:00:00Z\n# vehicle: Mule\n"
	for path, want := range map[string]string{
		"/nowhere.csv":          "no such file",
		t.TempDir():             "folder",
		file("Time;RPM\n0;1\n"): "fw-logger import",
		file(""):                "fw-logger import",
		file("# format: session 1\n# vehicle: Mule\ntime_s,engine_speed_rpm\n0,1\n"):                               "created",
		file("# format: session 1\n# created: 0001-01-01T00:00:00Z\n# vehicle: M\ntime_s,engine_speed_rpm\n0,1\n"): "created",
		file("# format: session 1\n# created: 2026-05-09T08:00:00Z\ntime_s,engine_speed_rpm\n0,1\n"):               "--as",
		file(head + "time_s,order\n0,1\n"): "rename the column",
		file(head + "time_s,_time\n0,1\n"): "rename the column",
		file(head + "time_s,time\n0,1\n"):  "rename the column",
	} {
		if _, err := (&Sender{Server: s, Clock: newQuick()}).Send(context.Background(), path); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", path, err, want)
		}
	}
	for _, rows := range []string{"0,1,1\n1e300,2,2\n2,3,3\n", "0,1,1\n2,3,3\n1e300,2,2\n"} {
		path := file(head + "time_s,engine_speed_rpm,vehicle_speed_kmh\n" + rows)
		for i := range 2 { // the second time there is nothing left, and nothing more is refused
			r := send(t, s, path)
			if text, err := os.ReadFile(path + ".rejected"); err != nil || r.Refused != 1 || r.Rows != 2-2*i || strings.Count(string(text), "1e+300") != 1 {
				t.Errorf("%+v, %v, %s", r, err, text)
			}
		}
	}
}

// A recording that went on in a second file is two drives, and neither takes the other's place.
func TestPartsOfARecording(t *testing.T) {
	t.Parallel()
	s := open(t, influxd.Share(t))
	channels := []string{drive.EngineSpeed, drive.VehicleSpeed}
	next := func(n int) func(int) (float64, []drive.Cell) {
		return func(i int) (float64, []drive.Cell) {
			if i == n {
				return 0, nil
			}
			return float64(n*10+i) / 10, []drive.Cell{{Channel: 0, Value: float64(n)}, {Channel: 1, Value: 5}}
		}
	}
	name := drive.Field{Key: "vehicle", Value: "Mule"}
	first := write(t, "2026-05-09T08:00:00.1Z", []drive.Field{name}, channels, next(30))
	second := write(t, "2026-05-09T08:00:00.1Z", []drive.Field{name, {Key: "part", Value: "2"}}, channels, next(20))
	a, b := send(t, s, first), send(t, s, second)
	both := fetch(t, s, "influx:vehicle=Mule,from=2026-05-09,to=2026-05-09")
	if len(both) != 2 || b.Name != "influx:vehicle=Mule,drive=2026-05-09T08:00:00.100000001Z" {
		t.Fatalf("%d drives, %s, %s", len(both), a.Name, b.Name)
	}
	same(t, fromFile(t, first), both[0])
	same(t, fromFile(t, second), both[1])
}
