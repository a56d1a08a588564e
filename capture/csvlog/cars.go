package csvlog

import (
	"fmt"
	"slices"
	"strings"
)

// carHeadings are headings, in small letters and without signs, of a column that names the vehicle of a row.
var carHeadings = []string{"car", "carid", "carname", "carno", "vehicle", "vehicleid", "vehiclename", "vehicleno", "vehiclenumber", "vin", "plate", "licenceplate",
	"licenseplate", "registration", "fahrzeug", "kennzeichen", "vehicule", "vehiculo"}

// carColumn follows the column that names the vehicle of a row. A log is of one car: gears of two cars cannot be told from slip.
type carColumn struct {
	index int // -1: there is none
	raw   string
	names []string // found so far, a few at most
}

const carsShown = 5

func findCarColumn(hs []heading) carColumn {
	for _, h := range hs {
		plain := strings.Map(func(r rune) rune {
			if strings.ContainsRune(" _-.#", r) {
				return -1
			}
			return r
		}, strings.ToLower(h.name))
		if slices.Contains(carHeadings, plain) {
			return carColumn{index: h.index, raw: h.raw}
		}
	}
	return carColumn{index: -1}
}

// see takes the cell of a row.
func (c *carColumn) see(cell []byte) {
	name := strings.TrimSpace(utf8Text(cell))
	if name == "" || len(c.names) > carsShown || slices.Contains(c.names, name) {
		return
	}
	c.names = append(c.names, name)
}

// refuse is the error of a table of several cars, nil where there is one.
func (c *carColumn) refuse(table string) error {
	if len(c.names) < 2 {
		return nil
	}
	some := ""
	names := c.names
	if len(names) > carsShown {
		names, some = names[:carsShown], " and more"
	}
	return fmt.Errorf("%s: column %q names several vehicles (%s%s): a log is of one car; cut the table into one file for each", table, c.raw, quoteList(names), some)
}
