package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"flywitness/analysis"
	"flywitness/analysis/calibrate"
	"flywitness/analysis/inertia"
	"flywitness/analysis/plan"
	"flywitness/cmd/internal/cli"
	"flywitness/cmd/internal/logfiles"
	"flywitness/dashboards/drivesheet"
	"flywitness/drive"
	"flywitness/figure"
	"flywitness/job"
	"flywitness/vehicle"

	"github.com/spf13/cobra"
)

// newJobFlags are the flags of job --new: each answers a question, for scripts and for those who know.
type newJobFlags struct {
	dir           string
	logs          []string // that only teach
	before, after []string // that are copied into the sides
	answers       map[string]*string
	weighed       bool
	in            *logFlags
	out           *outputFlags
	pdf           *bool
	names         []string // of the flags that go with --new
	questions     []question
}

const newJobGroup = "A new job"

// add adds the flags to the command of the job.
func (f *newJobFlags) add(cmd *cobra.Command, in *logFlags, out *outputFlags, pdf *bool) {
	f.in, f.out, f.pdf, f.answers = in, out, pdf, map[string]*string{}
	fl := cmd.Flags()
	fl.StringVar(&f.dir, "new", "", "make `FOLDER` with a vehicle file, a job file, folders for both sides and a drive sheet; asks on a terminal")
	fl.StringArrayVar(&f.logs, "log", nil, "a `LOG` of this car, to learn its gearing from (repeats)")
	fl.StringArrayVar(&f.before, "before", nil, "a `LOG` from before the work, to be copied into the new job (repeats)")
	fl.StringArrayVar(&f.after, "after", nil, "a `LOG` from after the work, to be copied into the new job (repeats)")
	fl.BoolVar(&f.weighed, "weighed", false, "the mass was weighed")
	f.names = []string{"log", "before", "after", "weighed"}
	f.questions = jobQuestions()
	for _, q := range f.questions {
		f.answers[q.flag] = fl.String(q.flag, "", q.usage)
		f.names = append(f.names, q.flag)
	}
	cli.Group(cmd, newJobGroup, append([]string{"new"}, f.names...)...)
}

// check refuses flags of a new job where none is made, and flags of a run where one is.
func (f *newJobFlags) check(cmd *cobra.Command, args []string) error {
	if f.dir == "" {
		for _, n := range f.names {
			if cmd.Flags().Changed(n) {
				return cli.Usagef("--%s goes with --new FOLDER, which makes a new job", n)
			}
		}
		return nil
	}
	for _, n := range []string{"out", "check", "influx", "as"} {
		if cmd.Flags().Changed(n) {
			return cli.Usagef("--%s runs a job, and --new makes one; do one after the other", n)
		}
	}
	if len(args) > 0 {
		return cli.Usagef("%s stands beside --new; a new job needs only its folder", args[0])
	}
	return nil
}

// madeJob is what job --new made, and what is still open.
type madeJob struct {
	Folder string   `json:"folder"`
	Files  []string `json:"files"`
	Logs   int      `json:"logs_copied"`
	Gears  int      `json:"gears_learnt"`
	Open   []string `json:"open"` // keys of the vehicle file that the result would gain from
}

type madeResult struct {
	analysis.Result
	New *madeJob `json:"new"`
}

// Names of what a new job holds.
const (
	carFile   = "car.toml"
	jobFile   = "job.toml"
	sheetFile = "drive-sheet.html"
	sheetPDF  = "drive-sheet.pdf" // with --pdf

	reportFolder = "job-report" // where a run of it writes; the pages of serve write there too
)

// run makes the folder of a new job.
func (f *newJobFlags) run(cmd *cobra.Command) error {
	ctx, stderr := cmd.Context(), cmd.ErrOrStderr()
	if err := f.free(); err != nil {
		return err
	}
	copies, logs, err := f.read(ctx, cmd.InOrStdin())
	if err != nil {
		return err
	}
	d := newDraft(f.out.units == figure.US)
	d.fitted = len(f.after) > 0
	d.car.Weighed = f.weighed
	if len(logs) > 0 {
		d.learn(logs)
		fmt.Fprint(stderr, cli.Wrap(d.taught, cli.LineWidth(stderr), ""))
	}
	if err := f.answer(cmd, d); err != nil {
		return err
	}
	made, err := f.write(ctx, d, copies, logs)
	if err != nil {
		return err
	}
	if f.out.json {
		r := madeResult{Result: newResult("job"), New: made}
		return cli.WriteJSON(cmd.OutOrStdout(), r)
	}
	t := madeText(made, d)
	_, err = t.WriteTo(cmd.OutOrStdout())
	return err
}

// free refuses a folder that holds a job already: nothing is ever overwritten.
func (f *newJobFlags) free() error {
	if info, err := os.Stat(f.dir); err == nil && !info.IsDir() {
		return &cli.InputError{Err: fmt.Errorf("%s is a file", f.dir), Hint: "name a folder for the new job"}
	}
	for _, name := range []string{carFile, jobFile, sheetFile, sheetPDF} {
		if path := filepath.Join(f.dir, name); exists(path) {
			return &cli.InputError{Err: fmt.Errorf("%s exists and is not overwritten", path), Hint: "name another folder"}
		}
	}
	return nil
}

func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

// read reads the logs that teach, those of the sides among them, and says which files are copied where.
func (f *newJobFlags) read(ctx context.Context, stdin io.Reader) (copies map[string]string, logs []*drive.Log, err error) {
	copies = map[string]string{}
	teach, err := logfiles.Expand(f.logs)
	if err != nil {
		return nil, nil, err
	}
	for _, side := range []struct {
		name string
		logs []string
	}{{"before", f.before}, {"after", f.after}} {
		files, err := logfiles.Expand(side.logs)
		if err != nil {
			return nil, nil, err
		}
		for _, file := range files {
			to := filepath.Join(f.dir, side.name, filepath.Base(file))
			if !job.IsRecording(file) {
				return nil, nil, &cli.InputError{Err: fmt.Errorf("%s is no recording by its name", file), Hint: "recordings end in .csv, .tsv or .log, also packed as .gz or .zip"}
			}
			if from, taken := copies[to]; taken || exists(to) {
				return nil, nil, &cli.InputError{Err: fmt.Errorf("%s and %s would both be %s", file, from, to), Hint: "give them different names"}
			}
			copies[to] = file
			if !slices.ContainsFunc(teach, func(log string) bool { return filepath.Clean(log) == filepath.Clean(file) }) {
				teach = append(teach, file)
			}
		}
	}
	if len(teach) == 0 {
		return copies, nil, nil
	}
	logs, err = f.in.openOnly(ctx, teach, stdin)
	return copies, logs, err
}

// draft is the job and the car as far as they are known.
type draft struct {
	car    *vehicle.Vehicle
	learnt []vehicle.Gearing
	job    job.Draft
	rating float64 // N m of the new clutch, 0 when not told
	fitted bool    // it is in the car: there are drives with it
	limit  float64 // m/s that may be driven, 0 when not told
	us     bool
	taught string // what the logs taught, in words
}

func newDraft(us bool) *draft {
	return &draft{car: &vehicle.Vehicle{}, us: us, job: job.Draft{Vehicle: carFile, Before: "before", After: "after"}}
}

// learn takes from the logs what they tell of the car.
func (d *draft) learn(logs []*drive.Log) {
	cal := analysis.Learn(analysis.Set{Logs: logs}).Calibration
	car, name := learntCar(cal), d.car.Name
	car.Weighed, car.Name = d.car.Weighed, name
	d.car, d.learnt = car, ladder(cal)
	known := fmt.Sprintf("The logs taught %d gears", len(d.learnt))
	if len(d.learnt) == 0 {
		known = "The logs show no gears that can be told apart; a drive through the gears would"
	}
	if car.Engine.IdleRPM > 0 {
		known += fmt.Sprintf(", idle at %.0f rpm", car.Engine.IdleRPM)
	}
	d.taught = known + ". It is all written down, and need not be asked."
}

// ladder is the gearing that was learnt.
func ladder(cal *calibrate.Calibration) (out []vehicle.Gearing) {
	for _, g := range cal.Gears {
		if g.RPMPerKmh != nil {
			out = append(out, vehicle.Gearing{Gear: g.Gear, RPMPerKmh: g.RPMPerKmh.Value, SD: g.RPMPerKmh.SD})
		}
	}
	return out
}

// carTOML is the vehicle file as it would be written.
func (d *draft) carTOML() ([]byte, error) {
	var b bytes.Buffer
	if err := vehicle.WriteTOML(&b, d.car, d.learnt, "Fill in what stands as a comment, and take its # away."); err != nil {
		return nil, err
	}
	b.WriteString(d.clutch())
	return b.Bytes(), nil
}

// clutch is the clutch's part of the vehicle file. The rating of a clutch that is not fitted yet must not be held against
// the old one, so it stands as a comment until then.
func (d *draft) clutch() string {
	switch rating := vehicle.Plain(d.rating, 4); {
	case d.rating == 0:
		return "\n# [clutch]                  # the one that is in the car after the work\n# torque_rating_nm =\n"
	case d.fitted:
		return "\n[clutch]                    # the one that is fitted\ntorque_rating_nm = " + rating + "\n"
	default:
		return "\n# Take the # away from both lines when the new clutch is fitted:\n# [clutch]\n# torque_rating_nm = " + rating + "\n"
	}
}

// write writes everything, each file only where there is none.
func (f *newJobFlags) write(ctx context.Context, d *draft, copies map[string]string, logs []*drive.Log) (*madeJob, error) {
	for _, side := range []string{"before", "after"} {
		if err := os.MkdirAll(filepath.Join(f.dir, side), 0o755); err != nil {
			return nil, fmt.Errorf("cannot make the folders of the job: %w", err)
		}
	}
	car, err := d.carTOML()
	if err != nil {
		return nil, err
	}
	v, _, err := vehicle.Parse(car, carFile)
	if err != nil {
		return nil, err
	}
	var text, sheet bytes.Buffer
	if err := d.job.WriteTOML(&text); err != nil {
		return nil, err
	}
	if err := drivesheet.Write(&sheet, d.sheet(f.out, v, logs, sheetFile)); err != nil {
		return nil, fmt.Errorf("the drive sheet could not be made: %w", err)
	}
	for name, data := range map[string][]byte{carFile: car, jobFile: text.Bytes(), sheetFile: sheet.Bytes()} {
		if err := createFile(filepath.Join(f.dir, name), bytes.NewReader(data)); err != nil {
			return nil, err
		}
	}
	for to, from := range copies {
		if err := copyFile(to, from); err != nil {
			return nil, err
		}
	}
	if f.pdf != nil && *f.pdf {
		if err := writeSheet(ctx, filepath.Join(f.dir, sheetPDF), d.sheet(f.out, v, logs, sheetPDF)); err != nil {
			return nil, err
		}
	}
	return &madeJob{Folder: f.dir, Files: []string{carFile, jobFile, "before", "after", sheetFile}, Logs: len(copies), Gears: len(d.learnt), Open: d.open()}, ctx.Err()
}

// sheet is the drive sheet of the job, planned with what the logs tell of sampling and scatter.
func (d *draft) sheet(out *outputFlags, v *vehicle.Vehicle, logs []*drive.Log, file string) drivesheet.Sheet {
	q := plan.Question{Checklist: true, Road: plan.Road{SpeedLimit: d.limit}}
	if len(logs) > 0 {
		if m, ok := plan.FromLog(analysis.Inertia(analysis.Set{Logs: logs, Vehicle: v}, inertia.Options{}).Inertia); ok {
			q.Log = &m
		}
		q.Road.Holds, _ = plan.HoldsOf(logs, v)
	}
	return drivesheet.Sheet{Title: d.job.Title, Car: d.car.Name, Customer: d.job.Customer, Registration: d.job.Registration, Done: d.job.Done,
		Plan: plan.Make(v, q), Units: out.units, Paper: out.paperFor(file)}
}

// open lists what would tell more and is not known, most useful first.
func (d *draft) open() []string {
	out := []string{}
	add := func(missing bool, key string) {
		if missing {
			out = append(out, key)
		}
	}
	add(d.car.Mass == 0, "mass_kg")
	add(len(d.learnt) == 0, "ratios, final_drive and tyre (or give a log to learn from)")
	add(d.car.Gearbox.Type == "", "type (of the gearbox: without it the clutch may not be judged)")
	add(d.car.Engine.LimitRPM == 0, "limit_rpm")
	add(d.car.Engine.Fuel == "", "fuel")
	add(d.rating == 0, "torque_rating_nm (of the clutch that is fitted)")
	return out
}

// createFile writes a new file; one that exists is left alone.
func createFile(path string, data io.Reader) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s exists and is not overwritten; name another file", path)
	}
	if err != nil {
		return fmt.Errorf("cannot write %s: %w", path, err)
	}
	_, err = io.Copy(f, data)
	if closed := f.Close(); err == nil {
		err = closed
	}
	if err != nil {
		return fmt.Errorf("cannot write %s: %w", path, err)
	}
	return nil
}

func copyFile(to, from string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	return createFile(to, in)
}

func madeText(m *madeJob, d *draft) *cli.Text {
	var t cli.Text
	at := func(name string) string { return cli.OneLine(filepath.Join(m.Folder, name)) }
	t.Answer(cli.Good, fmt.Sprintf("The job %s is made.", at("")))
	car := "the car"
	if m.Gears > 0 {
		car += fmt.Sprintf(", with %d gears learnt from the log", m.Gears)
	}
	sides := "put the recordings of each side here"
	if m.Logs > 0 {
		sides += fmt.Sprintf("; %d copied", m.Logs)
	}
	t.Pairs([][2]string{{at(carFile), car}, {at(jobFile), "what was done, which recordings, what was promised"},
		{at("before") + ", " + at("after"), sides}, {at(sheetFile), "what to drive, to be printed and ticked"}})
	if len(m.Open) > 0 {
		t.Line("Still open in %s: %s.", at(carFile), strings.Join(m.Open, "; "))
	}
	t.Heading("Next:")
	n := 0
	step := func(command, format string, args ...any) { // a command stands on a line of its own, to be copied
		n++
		t.Numbered(n, format, args...)
		if command != "" {
			t.Verbatim("   " + command)
		}
	}
	if !d.fitted {
		step("", "Print %s, and tick on it what is driven.", at(sheetFile))
	}
	if m.Logs == 0 {
		step(fmt.Sprintf("fw-logger record --port PORT --vehicle %s --guide --out %s", shellWord(at(carFile)), shellWord(at("before/monday.csv"))),
			"Record before the work, or put any logger's CSV into %s:", at("before"))
	}
	if !d.fitted {
		fill := ""
		if d.rating > 0 {
			fill = "take the # away from [clutch] in " + at(carFile) + ", "
		}
		step("", "After the work, when the clutch is bedded in: %sdrive the same and put it into %s.", fill, at("after"))
	}
	step("fw-analyze job "+shellWord(at("")), "Then the report, into %s; one side alone will do:", at(reportFolder))
	return &t
}

// shellWord quotes a name that a shell would take apart.
func shellWord(s string) string {
	if strings.ContainsAny(s, " '\"$&;|*?()<>`\\!#~") {
		return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'"
	}
	return s
}
