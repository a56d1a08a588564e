package browse

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"os"
	"path"
	"strings"
	"time"
	"unicode"

	"flywitness/job"
)

// What may be dropped into the page at a time.
const (
	MostDropped  = 256 << 20 // bytes of everything
	mostFiles    = 100
	mostAnswer   = 500 // bytes of one field
	dropPatience = 10 * time.Minute
)

// DropPath is where files are posted to, for the limits of the guard.
const DropPath = "/new"

// dropped is a job that somebody dropped into the page.
type dropped struct {
	staged  string // the folder, hidden until it is whole
	files   int
	answers map[string]string
}

var errDrop = errors.New("what was sent is no form of this page")

// drop makes a job of files that were dropped into the page, and runs it.
func (s *Server) drop(w http.ResponseWriter, r *http.Request) {
	if !s.accepts {
		s.fail(w, http.StatusForbidden, "This server takes no files.")
		return
	}
	c := http.NewResponseController(w)
	// Errors here leave the deadlines of every other page in place, which hold for small files.
	_ = c.SetReadDeadline(time.Now().Add(dropPatience))
	_ = c.SetWriteDeadline(time.Now().Add(dropPatience))
	done, ok := s.turn(w, r)
	if !ok {
		return
	}
	name, err := s.accept(r)
	done()
	if err != nil {
		s.fail(w, http.StatusUnprocessableEntity, s.own(err))
		return
	}
	run, ctx, err := s.runs.begin(name+"/job.toml", runLimit)
	if err != nil { // another job is on its way; this one waits in the list
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return
	}
	go s.work(ctx, run)
	http.Redirect(w, r, fmt.Sprintf("/run/%d", run.ID), http.StatusSeeOther)
}

// accept receives the files of one job and begins it; what fails leaves nothing behind.
func (s *Server) accept(r *http.Request) (name string, err error) {
	d := dropped{staged: ".dropped-" + rand.Text(), answers: map[string]string{}}
	// What cannot be removed is hidden, and told nowhere.
	defer func() { _ = s.root.RemoveAll(d.staged) }()
	if err := s.receive(r, &d); err != nil {
		return "", err
	}
	if d.files == 0 {
		return "", errors.New("no log was sent: choose or drop at least one, before or after the work")
	}
	if name, err = folderName(d.answers["name"]); err != nil {
		return "", err
	}
	if name, err = s.freeName(name); err != nil {
		return "", err
	}
	if err := s.root.Rename(d.staged, name); err != nil {
		return "", fmt.Errorf("the folder of the job cannot be made: %w", err)
	}
	if err := s.begin(r.Context(), name, d.answers); err != nil {
		_ = s.root.RemoveAll(name)
		return "", err
	}
	return name, nil
}

// begin keeps a defect in the mathematics from taking the server down.
func (s *Server) begin(ctx context.Context, name string, answers map[string]string) (err error) {
	defer func() {
		if x := recover(); x != nil {
			err = fmt.Errorf("the job failed by a defect of the program: %v", x)
		}
	}()
	return s.analyst.Begin(ctx, s.disk(name), answers)
}

// receive writes the files of a form into the staged folder, one after another as they come.
func (s *Server) receive(r *http.Request, d *dropped) error {
	form, err := r.MultipartReader()
	if err != nil {
		return errDrop
	}
	for _, side := range []string{"before", "after"} {
		if err := s.root.MkdirAll(d.staged+"/"+side, 0o755); err != nil {
			return fmt.Errorf("the folder of the job cannot be made: %w", err)
		}
	}
	for {
		part, err := form.NextPart()
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return tooLarge(err)
		}
		if err := s.part(part, d); err != nil {
			return err
		}
	}
}

// tooLarge says in words what the limit of the guard does.
func tooLarge(err error) error {
	var most *http.MaxBytesError
	if errors.As(err, &most) {
		return fmt.Errorf("more than %d MB cannot be sent at a time; put larger logs into the folder itself", most.Limit>>20)
	}
	return errDrop
}

// part takes one field of the form.
func (s *Server) part(p *multipart.Part, d *dropped) error {
	field, file := p.FormName(), p.FileName()
	switch {
	case field != "before" && field != "after":
		data, err := io.ReadAll(io.LimitReader(p, mostAnswer+1))
		if err != nil {
			return tooLarge(err)
		}
		if len(data) > mostAnswer || len(d.answers) > 50 {
			return fmt.Errorf("%.20q is longer than anybody writes", field)
		}
		d.answers[field] = strings.TrimSpace(strings.ToValidUTF8(string(data), "?"))
		return nil
	case file == "": // a choice of files that was left empty
		return nil
	}
	name := path.Base(strings.ReplaceAll(file, `\`, "/"))
	switch {
	case !job.IsRecording(name) || hidden(name) || strings.ContainsFunc(name, func(r rune) bool { return !unicode.IsPrint(r) }) || len(name) > 200:
		return fmt.Errorf("%.60q is no log by its name: logs end in .csv, .tsv or .log, also packed as .gz or .zip", name)
	case d.files >= mostFiles:
		return fmt.Errorf("more than %d files cannot be sent at a time", mostFiles)
	}
	d.files++
	out, err := s.root.OpenFile(d.staged+"/"+field+"/"+name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, os.ErrExist) {
		return fmt.Errorf("two files of the %s side are called %.60q; rename one", field, name)
	}
	if err != nil {
		return fmt.Errorf("%.60q cannot be written: %w", name, err)
	}
	_, err = io.Copy(out, p)
	if closed := out.Close(); err == nil && closed != nil {
		return fmt.Errorf("%.60q cannot be written: %w", name, closed)
	}
	if err != nil {
		return tooLarge(err)
	}
	return nil
}

// mostJobs is how many jobs of one name a folder takes.
const mostJobs = 1000

// freeName adds a number to a name that is taken: a car has many jobs.
func (s *Server) freeName(name string) (string, error) {
	if !s.exists(name) {
		return name, nil
	}
	for n := 2; n <= mostJobs; n++ {
		if next := fmt.Sprintf("%s-%d", name, n); !s.exists(next) {
			return next, nil
		}
	}
	return "", fmt.Errorf("there are too many folders %s; tidy up", name)
}

// mostName is how long a folder's name may be.
const mostName = 60

// folderName makes the name of a folder of what somebody called the car or the job.
func folderName(text string) (string, error) {
	name := strings.Join(strings.FieldsFunc(text, func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '-' && r != '_'
	}), "-")
	name = strings.Trim(name, "-")
	if name == "" {
		return "", errors.New("give the car or the job a name; the folder is called by it")
	}
	for len(name) > mostName { // whole letters
		r := []rune(name)
		name = string(r[:len(r)-1])
	}
	return name, nil
}
