package browse

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"time"
)

// runs are the jobs started from the page: one at a time, the last few remembered.
type runs struct {
	ctx context.Context

	mu   sync.Mutex
	list []*run
}

const mostRuns = 20

// run is one job on its way. Its fields are guarded by the mutex of runs.
type run struct {
	ID       int
	Job, Out string
	Step     string
	Done     bool
	Trouble  string
	cancel   context.CancelFunc
}

var errBusy = errors.New("another job is running")

// begin registers a run, or says that one is under way.
func (rs *runs) begin(job string, limit time.Duration) (*run, context.Context, error) {
	rs.mu.Lock()
	defer rs.mu.Unlock()
	for _, r := range rs.list {
		if !r.Done {
			return r, nil, errBusy
		}
	}
	ctx, cancel := context.WithTimeout(rs.ctx, limit)
	r := &run{ID: 1, Job: job, Out: outFor(job), Step: "starting", cancel: cancel}
	if n := len(rs.list); n > 0 {
		r.ID = rs.list[n-1].ID + 1
	}
	rs.list = append(rs.list, r)
	if len(rs.list) > mostRuns {
		rs.list = rs.list[1:]
	}
	return r, ctx, nil
}

// update changes a run under the lock.
func (rs *runs) update(r *run, f func(*run)) {
	rs.mu.Lock()
	defer rs.mu.Unlock()
	f(r)
}

// find returns a copy of a run, to be shown.
func (rs *runs) find(id string) (run, bool) {
	n, err := strconv.Atoi(id)
	rs.mu.Lock()
	defer rs.mu.Unlock()
	for _, r := range rs.list {
		if err == nil && r.ID == n {
			return *r, true
		}
	}
	return run{}, false
}

// runLimit is the longest that a job may take.
const runLimit = 10 * time.Minute

func (s *Server) start(w http.ResponseWriter, r *http.Request) {
	job, ok := clean(r.PostFormValue("job"))
	if !ok || !s.exists(job) || !s.isJob(job) {
		s.fail(w, http.StatusNotFound, "There is no such job.")
		return
	}
	run, ctx, err := s.runs.begin(job, runLimit)
	if err == nil {
		go s.work(ctx, run)
	}
	http.Redirect(w, r, fmt.Sprintf("/run/%d", run.ID), http.StatusSeeOther)
}

// work runs a job to its end, or to the moment when it is cancelled: a step that is under way is then left to end by itself, and what it
// finds is thrown away. Its turn among the heavy readers it keeps until then.
func (s *Server) work(ctx context.Context, r *run) {
	defer r.cancel()
	result := make(chan error, 1)
	go func() { result <- s.take(ctx, r) }()
	var err error
	select {
	case err = <-result:
	case <-ctx.Done():
	}
	s.runs.update(r, func(r *run) {
		r.Done = true
		switch {
		case errors.Is(ctx.Err(), context.DeadlineExceeded):
			r.Trouble = fmt.Sprintf("It took longer than %v and was stopped.", runLimit)
		case ctx.Err() != nil:
			r.Trouble = "Cancelled."
		case err != nil:
			r.Trouble = s.own(err)
		}
	})
}

// take checks where a job reads and writes, and runs it when its turn has come.
func (s *Server) take(ctx context.Context, r *run) error {
	file := s.disk(r.Job)
	if err := s.usable(file); err != nil {
		return err
	}
	if err := s.patternsInside(r.Job); err != nil {
		return err
	}
	out, err := s.writable(r.Out)
	if err != nil {
		return err
	}
	done, err := s.heavy.take(ctx, runLimit)
	if err != nil {
		return err
	}
	defer done()
	return s.attempt(ctx, file, out, func(step string) {
		s.runs.update(r, func(r *run) {
			if !r.Done {
				r.Step = step
			}
		})
	})
}

// attempt keeps a defect in the mathematics from taking the server down.
func (s *Server) attempt(ctx context.Context, file, out string, progress func(string)) (err error) {
	defer func() {
		if x := recover(); x != nil {
			err = fmt.Errorf("the job failed by a defect of the program: %v", x)
		}
	}()
	return s.analyst.Run(ctx, file, out, s.usable, progress)
}

func (s *Server) disk(p string) string { return filepath.Join(s.dir, filepath.FromSlash(p)) }

// inside refuses a path that leaves the folder, by dots or by links.
func (s *Server) inside(p string) error {
	top, err := filepath.EvalSymlinks(s.dir)
	if err != nil {
		return err
	}
	if top, err = filepath.Abs(top); err != nil {
		return err
	}
	real, err := filepath.EvalSymlinks(p)
	if err != nil {
		return err
	}
	if real, err = filepath.Abs(real); err != nil {
		return err
	}
	rel, err := filepath.Rel(top, real)
	if err != nil || rel == ".." || strings.HasPrefix(rel, ".."+string(filepath.Separator)) {
		return fmt.Errorf("%s lies outside the folder that is served; run this job with `fw-analyze job`", filepath.Base(p))
	}
	return nil
}

type progressPage struct {
	frame
	Run run
}

func (s *Server) progress(w http.ResponseWriter, r *http.Request) {
	one, ok := s.runs.find(r.PathValue("id"))
	if !ok {
		s.fail(w, http.StatusNotFound, "There is no such run.")
		return
	}
	v := progressPage{s.frame("Running a job", false), one}
	if !one.Done {
		v.Page.Refresh = 1
	}
	s.page(w, http.StatusOK, "run.html", v.frame, v)
}

func (s *Server) cancel(w http.ResponseWriter, r *http.Request) {
	one, ok := s.runs.find(r.PathValue("id"))
	if !ok {
		s.fail(w, http.StatusNotFound, "There is no such run.")
		return
	}
	one.cancel()
	http.Redirect(w, r, fmt.Sprintf("/run/%d", one.ID), http.StatusSeeOther)
}
