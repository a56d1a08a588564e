// Package browse serves the jobs, reports and logs of a folder to a browser: newest first, with their verdicts. Nothing
// outside the folder is ever read or named.
package browse

import (
	"context"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"io"
	"net/http"
	"net/url"
	"os"
	"path"
	"strings"
	"syscall"
	"time"

	"flywitness/analysis"
	"flywitness/dashboards/web"
	"flywitness/drive"
	"flywitness/figure"
)

//go:embed *.html
var files embed.FS

//go:embed browse.css
var ownCSS string

var pages = web.ParseFS(files, "*.html", template.FuncMap{"link": link, "number": number})

// Analyst is what the server lets others do: the folder's files come from it, the mathematics from them.
type Analyst struct {
	// Title returns what a job file calls itself. An error is shown beside the file.
	Title func(path string) (string, error)
	// Run runs a job and writes its result into the folder out, telling how far it is. inside refuses a file outside the
	// served folder; every file that the job names goes through it before it is opened.
	Run func(ctx context.Context, path, out string, inside func(string) error, progress func(string)) error
	// Read reads a log; name stands in messages.
	Read func(r io.Reader, name string) (*drive.Log, error)
	// Judge decodes a log for its picture.
	Judge func(l *drive.Log) *analysis.Result
	// Begin writes the vehicle file and the job file of a new job into a folder that holds its recordings in before and after.
	// The answers are those of the form, by the names of its fields.
	Begin func(ctx context.Context, dir string, answers map[string]string) error
	// Now tells the time, for what is due.
	Now func() time.Time
}

// Server is the job browser of one folder.
type Server struct {
	dir     string
	root    *os.Root
	analyst Analyst
	units   figure.Units
	accepts bool // files that are dropped into the page
	runs    runs
	heavy   heavy
	mux     *http.ServeMux
}

// New opens a folder. ctx ends the runs that are under way.
func New(ctx context.Context, dir string, a Analyst, u figure.Units) (*Server, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, fmt.Errorf("cannot open the folder to serve: %w", err)
	}
	s := &Server{dir: dir, root: root, analyst: a, units: u, heavy: make(heavy, mostHeavy), mux: http.NewServeMux()}
	s.runs.ctx = ctx
	s.mux.HandleFunc("GET /{$}", s.index)
	s.mux.HandleFunc("GET /report/{path...}", s.report)
	s.mux.HandleFunc("GET /result/{path...}", s.result)
	s.mux.HandleFunc("GET /log/{path...}", s.log)
	s.mux.HandleFunc("GET /car/{name}", s.car)
	s.mux.HandleFunc("POST "+DropPath, s.drop)
	s.mux.HandleFunc("POST /run", s.start)
	s.mux.HandleFunc("GET /run/{id}", s.progress)
	s.mux.HandleFunc("POST /run/{id}/cancel", s.cancel)
	return s, nil
}

// AcceptFiles lets the page take files that are dropped into it, and make jobs of them. Whoever reaches the server then
// writes into the folder.
func (s *Server) AcceptFiles() { s.accepts = true }

// Close releases the folder.
func (s *Server) Close() error { return s.root.Close() }

// ServeHTTP answers a request; wrap it in web.Handler.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.mux.ServeHTTP(w, r) }

// frame is what every page has.
type frame struct {
	Page   web.Page
	Folder string
}

// frame returns it, with the script of the zoomable charts or without.
func (s *Server) frame(title string, charts bool) frame {
	p := web.New(title, web.Own{CSS: ownCSS, Charts: charts, Forms: true, Policy: "frame-ancestors 'none'; img-src data:"})
	p.Served = true
	return frame{p, s.dir}
}

func (s *Server) page(w http.ResponseWriter, status int, name string, f frame, data any) {
	w.Header().Set("Content-Security-Policy", f.Page.Policy)
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	// What fails here is the connection; there is nobody left to tell.
	_ = pages.ExecuteTemplate(w, name, data)
}

type message struct {
	frame
	Text string
}

// fail shows what went wrong as a page.
func (s *Server) fail(w http.ResponseWriter, status int, text string) {
	f := s.frame("This did not work", false)
	s.page(w, status, "message.html", f, message{f, text})
}

// clean turns the path of a request into one inside the folder; hidden files stay hidden. os.Root refuses what still leads out.
func clean(p string) (string, bool) {
	p = path.Clean(p)
	if p == "." || strings.HasPrefix(p, "../") || p == ".." || path.IsAbs(p) || hidden(p) {
		return "", false
	}
	return p, true
}

func hidden(p string) bool {
	for part := range strings.SplitSeq(p, "/") {
		if strings.HasPrefix(part, ".") {
			return true
		}
	}
	return false
}

// open opens a file of the folder for reading, no larger than most bytes.
func (s *Server) open(p string, most int64) (*os.File, error) {
	name, ok := clean(p)
	if !ok {
		return nil, os.ErrNotExist
	}
	if st, err := s.root.Stat(name); err != nil || !st.Mode().IsRegular() { // a named pipe would be waited for at the opening
		return nil, errors.Join(err, fmt.Errorf("%s is not a file", name))
	}
	f, err := s.root.OpenFile(name, os.O_RDONLY|syscall.O_NONBLOCK, 0) // nor one that takes its place now
	if err != nil {
		return nil, err
	}
	st, err := f.Stat()
	if err == nil && !st.Mode().IsRegular() {
		err = fmt.Errorf("%s is not a file", name)
	}
	if err == nil && st.Size() > most {
		err = fmt.Errorf("%s has %d MB; more than %d MB are not shown", name, st.Size()>>20, most>>20)
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}

// link writes a path for an address, part by part.
func link(p string) template.URL {
	parts := strings.Split(p, "/")
	for i := range parts {
		parts[i] = url.PathEscape(parts[i])
	}
	return template.URL(strings.Join(parts, "/"))
}

// number writes a value to four digits, nothing where there is none.
func number(v *float64) string {
	if v == nil {
		return ""
	}
	return figure.Significant(*v, 4)
}

// Largest files that are read.
const (
	mostReport = 32 << 20
	mostLog    = 256 << 20
)

// report hands out a report as it lies there, in a sandbox of its own: whoever wrote the file, its scripts reach neither
// this server nor any other.
func (s *Server) report(w http.ResponseWriter, r *http.Request) {
	p := r.PathValue("path")
	if !strings.HasSuffix(p, ".html") {
		s.fail(w, http.StatusNotFound, "There is no such report.")
		return
	}
	f, err := s.open(p, mostReport)
	if err != nil {
		s.fail(w, http.StatusNotFound, "There is no such report.")
		return
	}
	defer f.Close()
	w.Header().Set("Content-Security-Policy", "sandbox allow-scripts; default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:; frame-ancestors 'none'")
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	http.ServeContent(w, r, "", time.Time{}, f)
}

// result hands out a result as JSON.
func (s *Server) result(w http.ResponseWriter, r *http.Request) {
	p := r.PathValue("path")
	f, err := s.open(p, mostReport)
	if err != nil || path.Base(p) != "result.json" {
		s.fail(w, http.StatusNotFound, "There is no such result.")
		return
	}
	defer f.Close()
	w.Header().Set("Content-Type", "application/json")
	http.ServeContent(w, r, "", time.Time{}, f)
}
