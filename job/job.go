// Package job reads the job file: what was done to which car, which recordings stand on which side, what was promised.
// The protocol (margin, window, number of runs, exclusions) is fixed in it before the after drive.
package job

import (
	"math"
	"path/filepath"

	"flywitness/vehicle"
	"flywitness/vehicle/tomlfile"
)

// Side of the part swap.
type Side string

// The sides.
const (
	Before Side = "before"
	After  Side = "after"
)

// Site is where a job was driven.
type Site string

// The sites.
const (
	OnRoad    Site = "road"
	OnRollers Site = "rollers"
)

// Job is a job file, its globs resolved to files. Either side may be empty, not both.
type Job struct {
	Path   string
	SHA256 string

	Title, Done  string
	Shop         *Shop // nil when not given
	Customer     string
	Registration string
	VIN          string // upper case, without blanks
	Date         string // as it was written
	Vehicle      string // path of the vehicle file as it can be opened, "" when not given
	VehicleAfter string // of the car after the work, "" when it is the same
	Before       []Session
	After        []Session
	Excluded     []Exclusion

	Site          Site
	DryRoad       bool     // all was driven on paved roads that were dry
	KmSinceFitted *float64 // km driven with the new clutch; nil when not given
	BedInKm       *float64 // km that the clutch's maker asks for; nil when not given
	FootOnClutch  *bool    // in the free revs; nil when not told
	Checklist     bool     // consumers off, battery charged, 20 minutes driven, equal oil temperature

	StandardAir string      // j1349 | iso1585: pulls are also brought to standard air; "" leaves them as measured
	MarginPct   float64     // equivalence margin, 3 by default
	RunsPerSide int         // as planned, 0 when not given
	WindowRPM   *[2]float64 // of the free revs, nil to let the data decide
	Parts       []Part
	Claim       *Claim
	Held        Held
	OdometerKm  *float64
	Facts       []Fact // free fields, for the report, in the order of this package
}

// Session is what was recorded from one start of the engine; its files are in name order.
type Session struct {
	Name    string
	Files   []string
	Grouped bool // by a [[session]]: its files are one sitting, else each is one
}

// Exclusion is recordings that are listed but not used, with the reason that the job file gives.
type Exclusion struct {
	Files  []string
	Reason string
}

// Part is one swapped part; kg m^2. Before and After are NaN when only the change was given.
type Part struct {
	Name             string
	Before, After    float64
	Change, ChangeSD float64 // after minus before: negative when inertia was taken off
}

// Fact is a free field of the job file.
type Fact struct{ Name, Value string }

// DefaultMarginPct is the equivalence margin of a job that states none.
const DefaultMarginPct = 3

// defaultBedInKm stands in for the figure of the clutch's maker. Common practice, no source.
const defaultBedInKm = 500

// BeddingIn tells whether the new clutch has not yet been driven as far as it must before full load, and how far that is.
// A job that does not say how far it was driven is not held back.
func (j *Job) BeddingIn() (early bool, needKm float64) {
	needKm = defaultBedInKm
	if j.BedInKm != nil {
		needKm = *j.BedInKm
	}
	return j.KmSinceFitted != nil && *j.KmSinceFitted < needKm, needKm
}

// maxFile is far above what a job file needs.
const maxFile = 256 << 10

// Load reads a job file and finds its recordings. Paths and globs are relative to the job file. Errors are one line with
// file, line and column; what is unlikely comes back as warnings.
func Load(path string) (*Job, []string, error) {
	data, err := tomlfile.ReadFile(path, maxFile)
	if err != nil {
		return nil, nil, err
	}
	doc, err := tomlfile.Parse(data, path, maxFile)
	if err != nil {
		return nil, nil, err
	}
	j := &Job{Path: path, SHA256: sum(data)}
	root := doc.Root()
	j.readWords(root)
	j.readCar(root)
	j.readShop(root.Table("shop"))
	j.readConditions(root)
	j.readProtocol(root)
	for _, t := range root.Tables("part") {
		j.Parts = append(j.Parts, readPart(t))
	}
	if t := root.Table("claim"); t.Given() {
		j.Claim = readClaim(t)
	}
	files := &finder{dir: filepath.Dir(path)}
	j.readHeld(root, files)
	j.readRecordings(root, files)
	if err := doc.Err(); err != nil {
		return nil, nil, err
	}
	return j, doc.Warnings(), nil
}

func (j *Job) readWords(t *tomlfile.Table) {
	j.Title = t.Text("title")
	j.Done = t.Text("done")
	j.Vehicle = j.beside(t.Text("vehicle"))
	j.VehicleAfter = j.beside(t.Text("vehicle_after"))
	for _, name := range []string{"customer", "operator", "place", "date", "fuel", "tyres", "tyre_pressures", "adapter", "notes"} {
		if text := t.Text(name); text != "" {
			j.Facts = append(j.Facts, Fact{name, text})
		}
	}
}

// beside returns a path as seen from the job file's folder.
func (j *Job) beside(path string) string {
	if path == "" || filepath.IsAbs(path) {
		return path
	}
	return filepath.Join(filepath.Dir(j.Path), path)
}

func (j *Job) readConditions(t *tomlfile.Table) {
	j.Site = Site(t.Choice("site", string(OnRoad), string(OnRollers)))
	if j.DryRoad, _ = t.Flag("dry_road"); j.DryRoad && j.Site == OnRollers {
		t.Refuse("dry_road", "is told of a drive on rollers; take it out, or site")
	}
	if t.Has("standard_air") {
		j.StandardAir = t.Choice("standard_air", "j1349", "iso1585")
	}
	j.KmSinceFitted = distance(t, "km_since_fitted", "miles_since_fitted")
	j.BedInKm = distance(t, "bed_in_km", "bed_in_miles")
	j.OdometerKm = distance(t, "odometer_km", "odometer_miles")
	if foot, given := t.Flag("foot_on_clutch"); given {
		j.FootOnClutch = &foot
	}
	j.Checklist, _ = t.Flag("checklist")
}

// distance reads a distance in km by either key; nil when it is not given.
func distance(t *tomlfile.Table, km, miles string) *float64 {
	n := t.Quantity(tomlfile.Key{Name: km, Factor: 1}, tomlfile.Key{Name: miles, Factor: vehicle.KmPerMile})
	if !n.Given {
		return nil
	}
	if n.Value < 0 || n.Value > 5e6 {
		t.Refuse(n.Key, "must be a distance of zero or more")
	}
	return &n.Value
}

func (j *Job) readProtocol(t *tomlfile.Table) {
	j.MarginPct = DefaultMarginPct
	if n := t.Number("margin_pct"); n.Given {
		j.MarginPct = n.Value
		if n.Value <= 0 || n.Value > 50 {
			t.Refuse(n.Key, "is %g; it must be above 0 and at most 50", n.Value)
		}
	}
	if n := t.Number("runs_per_side"); n.Given {
		j.RunsPerSide = int(n.Value)
		if n.Value < 1 || n.Value > 1000 || n.Value != math.Trunc(n.Value) {
			t.Refuse(n.Key, "is %g; it must be a whole number of runs", n.Value)
		}
	}
	if w := t.Numbers("window_rpm"); w != nil {
		if len(w) != 2 || w[0] < 300 || w[1] < w[0]*1.2 || w[1] > 25000 {
			t.Refuse("window_rpm", "must be two engine speeds, the lower first: [1500, 3500]")
			return
		}
		j.WindowRPM = &[2]float64{w[0], w[1]}
	}
}

// partSD is how well an inertia from a data sheet is known when nobody says. Common practice, no source.
const partSD = 0.03

func readPart(t *tomlfile.Table) Part {
	p := Part{Name: t.Text("name"), Before: math.NaN(), After: math.NaN()}
	if p.Name == "" {
		p.Name = "part"
	}
	before := t.Quantity(vehicle.QuantityKeys("before_inertia", "inertia")...)
	after := t.Quantity(vehicle.QuantityKeys("after_inertia", "inertia")...)
	change := t.Quantity(vehicle.QuantityKeys("inertia_change", "inertia")...)
	for _, n := range []tomlfile.Number{before, after} {
		if n.Given && (n.Value < 0 || n.Value > 20) {
			t.Refuse(n.Key, "must lie between 0 and 20 kg m^2")
		}
	}
	switch {
	case change.Given && (before.Given || after.Given):
		t.Refuse(change.Key, "gives once more what before_inertia and after_inertia give; keep one of them")
	case change.Given:
		p.Change = change.Value
	case before.Given && after.Given:
		p.Before, p.After = before.Value, after.Value
		p.Change = after.Value - before.Value
	default:
		t.Refuse("", "a part needs before_inertia_kgm2 and after_inertia_kgm2, or inertia_change_kgm2; weight alone is no inertia (see fw-analyze part)")
	}
	p.ChangeSD = readPartSD(t, p)
	return p
}

func readPartSD(t *tomlfile.Table, p Part) float64 {
	whole := t.Quantity(vehicle.QuantityKeys("inertia_change_sd", "inertia")...)
	before := t.Quantity(vehicle.QuantityKeys("before_inertia_sd", "inertia")...)
	after := t.Quantity(vehicle.QuantityKeys("after_inertia_sd", "inertia")...)
	for _, n := range []tomlfile.Number{whole, before, after} {
		if n.Given && n.Value <= 0 {
			t.Refuse(n.Key, "must be above zero")
		}
	}
	switch {
	case whole.Given:
		return whole.Value
	case before.Given && after.Given:
		return math.Hypot(before.Value, after.Value)
	case before.Given || after.Given:
		t.Refuse(before.Key+after.Key, "needs the other side's too, or give inertia_change_sd_kgm2")
		return 0
	}
	sd := 0.05 * math.Abs(p.Change)
	if !math.IsNaN(p.Before) {
		sd = partSD * math.Hypot(p.Before, p.After)
	}
	if sd == 0 {
		sd = 1e-3
	}
	t.Warn("name", "(%s) states no inertia_change_sd_kgm2; %s kg m^2 is assumed", p.Name, vehicle.Plain(sd, 2))
	return sd
}
