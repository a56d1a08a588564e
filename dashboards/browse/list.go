package browse

import (
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"net/http"
	"path"
	"path/filepath"
	"regexp"
	"sort"
	"strings"
	"time"

	"flywitness/analysis"
	"flywitness/analysis/fleet"
	"flywitness/dashboards/text"
	"flywitness/job"
)

// How much of a folder is listed.
const (
	mostEntries = 5000 // files looked at
	mostDepth   = 6
	mostShown   = 200 // of each kind
)

// item is a file that the page lists.
type item struct {
	Path, When string
	Size       string
	Title      string        // of a job or a report
	Trouble    string        // why it cannot be used
	Verdicts   []text.Answer // of a report
	Report     string        // the report that a job's run would write, "" while there is none
	time       time.Time
}

type index struct {
	frame
	Cars                []car
	Accepts             bool // files that are dropped into the page
	Reports, Jobs, Logs []item
	More                bool // there was more than is listed
}

func (s *Server) index(w http.ResponseWriter, r *http.Request) {
	v := index{frame: s.frame("Cars, jobs and logs", false), Accepts: s.accepts}
	v.Page.Refresh = 0
	s.walk(&v)
	for _, list := range []*[]item{&v.Reports, &v.Jobs, &v.Logs} {
		l := *list
		sort.SliceStable(l, func(i, j int) bool { return l[i].time.After(l[j].time) })
		if len(l) > mostShown {
			*list, v.More = l[:mostShown], true
		}
	}
	done, err := s.heavy.take(r.Context(), heavyPatience)
	var entries []fleet.Entry
	for i := range v.Reports {
		if v.Reports[i].Trouble = errCrowded.Error(); err == nil {
			v.Reports[i].Trouble = ""
			entries = append(entries, s.describe(&v.Reports[i])...)
		}
	}
	if err == nil {
		done()
	}
	v.Cars = s.carsOf(entries)
	for i := range v.Jobs {
		j := &v.Jobs[i]
		err := s.patternsInside(j.Path)
		if err == nil {
			j.Title, err = s.analyst.Title(s.disk(j.Path))
		}
		if err != nil {
			j.Trouble = s.own(err)
		}
	}
	s.page(w, http.StatusOK, "index.html", v.frame, v)
}

// own shortens a message: the folder's own path is not for the page.
func (s *Server) own(err error) string {
	return strings.ReplaceAll(err.Error(), filepath.Clean(s.dir)+string(filepath.Separator), "")
}

func (s *Server) walk(v *index) {
	seen := 0
	// Errors on the way are folders that cannot be read; the rest is still worth listing.
	_ = fs.WalkDir(s.root.FS(), ".", func(p string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return nil
		case p != "." && hidden(p):
			return skip(d)
		case d.IsDir():
			if strings.Count(p, "/") >= mostDepth {
				return fs.SkipDir
			}
			return nil
		case !d.Type().IsRegular():
			return nil
		}
		if seen++; seen > mostEntries {
			v.More = true
			return fs.SkipAll
		}
		s.sort(v, p, d)
		return nil
	})
}

func skip(d fs.DirEntry) error {
	if d.IsDir() {
		return fs.SkipDir
	}
	return nil
}

// sort puts a file where it belongs.
func (s *Server) sort(v *index, p string, d fs.DirEntry) {
	info, err := d.Info()
	if err != nil {
		return
	}
	it := item{Path: p, time: info.ModTime(), When: info.ModTime().Format("2006-01-02 15:04"), Size: size(info.Size())}
	name := strings.ToLower(path.Base(p))
	switch {
	case name == "result.json":
		v.Reports = append(v.Reports, it)
	case strings.HasSuffix(name, ".toml") && s.isJob(p):
		if out := outFor(p); s.exists(out + "/report.html") {
			it.Report = out + "/report.html"
		}
		v.Jobs = append(v.Jobs, it)
	case job.IsRecording(name):
		v.Logs = append(v.Logs, it)
	}
}

// A job file has at least one side; a vehicle file has none.
var jobSide = regexp.MustCompile(`(?m)^\s*(before|after)\s*=`)

func (s *Server) isJob(p string) bool {
	f, err := s.open(p, 1<<20)
	if err != nil {
		return false
	}
	defer f.Close()
	data, err := io.ReadAll(f)
	return err == nil && jobSide.Match(data)
}

func (s *Server) exists(p string) bool {
	_, err := s.root.Stat(p)
	return err == nil
}

// outFor is the folder that the run of a job writes to: beside the job file, under its name.
func outFor(job string) string { return strings.TrimSuffix(job, path.Ext(job)) + "-report" }

// describe reads the verdicts of a report out of its result, and returns what the result says of its vehicle.
func (s *Server) describe(it *item) []fleet.Entry {
	it.Report = path.Dir(it.Path) + "/report.html"
	if path.Dir(it.Path) == "." {
		it.Report = "report.html"
	}
	if !s.exists(it.Report) {
		it.Report = ""
	}
	it.Title = path.Dir(it.Path)
	r, err := s.readResult(it.Path)
	if err != nil {
		it.Trouble = "this result cannot be read"
		return nil
	}
	if r.Job != nil && r.Job.Title != "" {
		it.Title = r.Job.Title
	}
	it.Verdicts = text.Of(r, s.units).Answers
	if len(it.Verdicts) > 3 {
		it.Verdicts = it.Verdicts[:3]
	}
	return entriesOf(r)
}

func (s *Server) readResult(p string) (*analysis.Result, error) {
	f, err := s.open(p, mostReport)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	var r analysis.Result
	if err := json.NewDecoder(f).Decode(&r); err != nil {
		return nil, err
	}
	if r.Command == "" {
		return nil, errors.New("no result")
	}
	return &r, nil
}

func size(n int64) string {
	switch {
	case n >= 1<<20:
		return text.Quantity(float64(n)/(1<<20), "MB")
	case n >= 1<<10:
		return text.Quantity(float64(n)/(1<<10), "kB")
	}
	return text.Quantity(float64(n), "B")
}
