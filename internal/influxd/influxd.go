// Package influxd runs a real InfluxDB server on a free loopback port for a test. make influxd builds it.
package influxd

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
)

// version of the server that is tested with; the Makefile builds the same.
const version = "1.8.10"

// Token of a user who may do everything.
const Token = "admin:sesame"

// Server is a running server with files of its own.
type Server struct {
	URL    string
	Bucket string // a fresh database and its retention policy
	Dir    string // data, write-ahead log, configuration
	db     string
	listen string
	flux   bool // the language of analyze's queries, which takes the server three seconds of CPU to learn at each start
	t      testing.TB
	cmd    *exec.Cmd
}

var shared struct {
	sync.Mutex
	server    *Server
	databases int
}

// Main runs the tests of a package that shares a server, and ends that server: os.Exit(influxd.Main(m)) in TestMain.
func Main(m *testing.M) int {
	status := m.Run()
	if s := shared.server; s != nil {
		s.Kill()
		os.RemoveAll(s.Dir)
	}
	return status
}

// Share returns the package's one server with a fresh database for this test. It is not to be stopped.
func Share(t testing.TB) *Server {
	t.Helper()
	shared.Lock()
	defer shared.Unlock()
	if shared.server == nil {
		dir, err := os.MkdirTemp("", "flywitness-influxd-")
		if err != nil {
			t.Fatal(err)
		}
		s := &Server{t: t, Dir: dir, listen: "127.0.0.1:0", flux: true}
		s.Restart()
		s.admin()
		shared.server = s
	}
	shared.databases++
	view := *shared.server
	view.t = t
	view.create(fmt.Sprintf("workshop%d", shared.databases))
	return &view
}

// DB is the name of the fresh database.
func (s *Server) DB() string { return s.db }

func (s *Server) admin() {
	name, password, _ := strings.Cut(Token, ":")
	s.InfluxQL(fmt.Sprintf("CREATE USER %s WITH PASSWORD '%s' WITH ALL PRIVILEGES", name, password))
}

func (s *Server) create(db string) {
	s.db, s.Bucket = db, db+"/autogen"
	s.InfluxQL("CREATE DATABASE " + db)
}

// binary finds the server, or fails the test: without it nothing is shown.
func binary(t testing.TB) string {
	t.Helper()
	path := os.Getenv("FLYWITNESS_INFLUXD")
	if path == "" {
		cache, err := os.UserCacheDir()
		if err != nil {
			t.Fatal(err)
		}
		path = filepath.Join(cache, "flywitness", "influxd-"+version, "influxd")
	}
	if _, err := os.Stat(path); err != nil {
		t.Fatalf("no InfluxDB server to test with: make influxd builds one (%v)", err)
	}
	return path
}

// Start starts a server that ends with the test.
func Start(t testing.TB) *Server {
	t.Helper()
	return start(t, true)
}

// StartForWrites starts one that answers no query of analyze, at once. A test looks into it with InfluxQL.
func StartForWrites(t testing.TB) *Server {
	t.Helper()
	return start(t, false)
}

func start(t testing.TB, flux bool) *Server {
	t.Helper()
	s := &Server{t: t, Dir: t.TempDir(), listen: "127.0.0.1:0", flux: flux}
	s.Restart()
	t.Cleanup(s.Kill) // its files go too: nothing needs to be written out
	s.admin()
	s.create("workshop")
	return s
}

// Restart starts the server again where it was.
func (s *Server) Restart() {
	s.t.Helper()
	conf := filepath.Join(s.Dir, "influxd.conf")
	if err := os.WriteFile(conf, []byte(s.configuration()), 0o600); err != nil {
		s.t.Fatal(err)
	}
	s.cmd = exec.Command(binary(s.t), "-config", conf)
	s.cmd.Env = append(os.Environ(), "HOME="+s.Dir)
	out, err := s.cmd.StderrPipe()
	if err != nil {
		s.t.Fatal(err)
	}
	if err := s.cmd.Start(); err != nil {
		s.t.Fatalf("the InfluxDB server does not start: %v", err)
	}
	found := make(chan string, 1)
	go listening(out, found)
	select {
	case s.listen = <-found:
		s.URL = "http://" + s.listen
	case <-time.After(2 * time.Minute): // of a machine that does other things too
	}
	if s.listen == "" || strings.HasSuffix(s.listen, ":0") {
		s.stop()
		s.t.Fatal("the InfluxDB server did not begin to listen")
	}
}

// configuration is the one that docs/database gives to a workshop, but for its folders, its ports, the certificate and
// whether it answers analyze.
func (s *Server) configuration() string {
	s.t.Helper()
	_, here, _, _ := runtime.Caller(0)
	text, err := os.ReadFile(filepath.Join(filepath.Dir(here), "..", "..", "docs", "database", "influxdb.conf"))
	if err != nil {
		s.t.Fatal(err)
	}
	conf := string(text)
	for _, change := range [][2]string{{"/var/lib/influxdb", s.Dir}, {`"127.0.0.1:8088"`, `"127.0.0.1:0"`},
		{`":8086"`, `"` + s.listen + `"`}, {"https-enabled = true", "https-enabled = false"},
		{"flux-enabled = true", fmt.Sprintf("flux-enabled = %t", s.flux)}} {
		if !strings.Contains(conf, change[0]) {
			s.t.Fatalf("docs/database/influxdb.conf has no %s", change[0])
		}
		conf = strings.ReplaceAll(conf, change[0], change[1])
	}
	return conf
}

var address = regexp.MustCompile(`Listening on HTTP.* addr=(\S+)`)

// listening reads the server's log to its end and tells the address that it stands on.
func listening(log io.Reader, found chan<- string) {
	lines := bufio.NewScanner(log)
	for lines.Scan() {
		if m := address.FindStringSubmatch(lines.Text()); m != nil {
			found <- m[1]
		}
	}
	close(found)
}

// stop ends the server; its files stay until the test ends.
func (s *Server) stop() { s.end(syscall.SIGTERM) }

// Kill ends it as a power cut does.
func (s *Server) Kill() { s.end(syscall.SIGKILL) }

func (s *Server) end(sig syscall.Signal) {
	if s.cmd == nil {
		return
	}
	_ = s.cmd.Process.Signal(sig)
	_ = s.cmd.Wait() // the signal is its error
	s.cmd = nil
}

// PID is the server's process.
func (s *Server) PID() int { return s.cmd.Process.Pid }

// InfluxQL runs a statement in the server's own language, apart from everything that is being tested, and returns the
// cells of its rows.
func (s *Server) InfluxQL(statement string) [][]any {
	s.t.Helper()
	name, password, _ := strings.Cut(Token, ":")
	form := url.Values{"q": {statement}, "db": {s.db}, "epoch": {"ns"}}
	req, err := http.NewRequest(http.MethodPost, s.URL+"/query", strings.NewReader(form.Encode()))
	if err != nil {
		s.t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.SetBasicAuth(name, password)
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		s.t.Fatal(err)
	}
	defer resp.Body.Close()
	var answer struct {
		Error   string
		Results []struct {
			Error  string
			Series []struct{ Values [][]any }
		}
	}
	dec := json.NewDecoder(resp.Body)
	dec.UseNumber()
	if err := dec.Decode(&answer); err != nil {
		s.t.Fatal(err)
	}
	var rows [][]any
	for _, r := range answer.Results {
		answer.Error += r.Error
		for _, series := range r.Series {
			rows = append(rows, series.Values...)
		}
	}
	if answer.Error != "" {
		s.t.Fatalf("%s: %s", statement, answer.Error)
	}
	return rows
}

// Values counts the field values of a measurement.
func (s *Server) Values(measurement string) int {
	s.t.Helper()
	n := 0
	for _, row := range s.InfluxQL(fmt.Sprintf(`SELECT COUNT(*) FROM "%s"."autogen"."%s"`, s.db, measurement)) {
		for _, cell := range row[1:] {
			if c, ok := cell.(json.Number); ok {
				k, err := c.Int64()
				if err != nil {
					s.t.Fatal(err)
				}
				n += int(k)
			}
		}
	}
	return n
}

// Size is the bytes on disk.
func (s *Server) Size() (n int64) {
	_ = filepath.Walk(s.Dir, func(_ string, info os.FileInfo, err error) error {
		if err == nil && info.Mode().IsRegular() {
			n += info.Size()
		}
		return nil
	})
	return n
}
