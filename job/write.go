package job

import (
	"fmt"
	"io"
	"strings"

	"flywitness/vehicle"
	"flywitness/vehicle/tomlfile"
)

// Draft is a job file that is begun before the first drive. Empty texts and nil become comments to fill in.
type Draft struct {
	Title, Done             string
	Vehicle                 string // path of the vehicle file, as seen from the job file
	Before, After           string // what holds the recordings of each side
	Customer, Registration  string
	VIN, Operator, Place    string
	Date                    string
	OdometerKm, KmSinceWork *float64
}

// WriteTOML writes a job file that Load reads again. What is not known stands in it as a comment that says what it is for.
func (d Draft) WriteTOML(w io.Writer) error {
	var b strings.Builder
	text := func(key, value, why string) {
		if value != "" {
			fmt.Fprintf(&b, "%s = %s\n", key, tomlfile.Quote(value))
		} else {
			fmt.Fprintf(&b, "# %-30s # %s\n", key+" = \"\"", why)
		}
	}
	number := func(key string, value *float64, why string) {
		if value != nil {
			fmt.Fprintf(&b, "%s = %s\n", key, vehicle.Plain(*value, 9))
		} else {
			fmt.Fprintf(&b, "# %-30s # %s\n", key+" =", why)
		}
	}
	b.WriteString("# Fill in what stands as a comment, and take its # away. The margin and the rest of the protocol are fixed before the second drive.\n")
	text("title", d.Title, "of the report")
	text("vehicle", d.Vehicle, "the vehicle file")
	text("done", d.Done, "what was fitted or changed")
	text("customer", d.Customer, "for the head of the report")
	text("registration", d.Registration, "of the car")
	text("vin", d.VIN, "17 letters and digits")
	text("operator", d.Operator, "who drove or recorded")
	text("place", d.Place, "where it was driven")
	text("date", d.Date, "such as 2026-03-27; for logs that do not say on which day they were made")
	number("odometer_km", d.OdometerKm, "or odometer_miles")
	b.WriteString("\n# The recordings: every log in these folders. A side that is still empty is left out of the result.\n")
	for _, side := range [][2]string{{"before", d.Before}, {"after", d.After}} {
		if side[1] != "" {
			fmt.Fprintf(&b, "%s = [%s]\n", side[0], tomlfile.Quote(side[1]))
		}
	}
	b.WriteString("\nsite = \"road\"                    # road | rollers\n")
	number("km_since_fitted", d.KmSinceWork, "driven with the new clutch, when the second drive begins; full load is judged from bed_in_km on")
	number("bed_in_km", nil, "what the clutch's maker asks for; 500 where nobody says")
	b.WriteString(rest)
	_, err := io.WriteString(w, b.String())
	return err
}

// rest is what a job may have beside that, as comments.
const rest = `# dry_road = true                # all of both drives on paved roads that were dry
# foot_on_clutch = false         # in the free revs
# standard_air = "j1349"         # or iso1585: pulls also in standard air, where the engine is not charged
# checklist = true               # the list on the drive sheet was kept on both sides
# same_day = true                # both sides in one day, without refuelling
# also_changed = ["intake"]      # remap, cam, intake, injectors, air meter: air and fuel then tell nothing of the drag

# Each part that was swapped, where its inertia is known; fw-analyze part writes this block.
# [[part]]
# name = "flywheel"
# inertia_change_kgm2 =
# inertia_change_sd_kgm2 =

# What the customer was promised; the report says whether it was kept.
# [claim]
# equivalent_mass_kg =
# gear = 1

# The head of the report.
# [shop]
# name = ""
# address = [""]
# logo = ""                      # a PNG or JPEG beside this file
`
