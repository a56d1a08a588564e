package main

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"flywitness/analysis/part"
	"flywitness/analysis/practice"
	"flywitness/analysis/stats"
	"flywitness/cmd/internal/cli"
	"flywitness/vehicle"

	"github.com/spf13/cobra"
)

func newPartDisc() *cobra.Command {
	var out benchFlags
	var material string
	cmd := &cobra.Command{
		Use:     "disc",
		Aliases: []string{"ring"},
		Short:   "A plain disc or ring, by its mass or its thickness",
		Long: `disc takes a part as one disc or ring of even thickness. A real flywheel has a web and a rim, so 5 % is added to the
uncertainty; list its rings (fw-analyze part rings) or swing it (fw-analyze part pendulum) for better.`,
		Example: `  $ fw-analyze part disc --mass-kg 7.8 --outer-mm 280 --inner-mm 40`,
		Args:    cobra.NoArgs,
	}
	mass := addQuantity(cmd, "mass", "mass", "mass")
	outer := addQuantity(cmd, "outer", "length", "outer diameter")
	inner := addQuantity(cmd, "inner", "length", "inner diameter, 0 for a disc")
	thickness := addQuantity(cmd, "thickness", "length", "thickness, in place of the mass")
	cmd.Flags().StringVar(&material, "material", "", "steel, iron or aluminium, with the thickness")
	cmd.RunE = func(cmd *cobra.Command, _ []string) error {
		var r reader
		ring := part.Ring{Outer: r.need(outer), Inner: r.or(inner, 0), Mass: r.or(mass, 0), Thickness: r.or(thickness, 0)}
		if r.err != nil {
			return r.err
		}
		if err := setDensity(&ring, material); err != nil {
			return err
		}
		f := &part.Finding{Method: "rings"}
		var err error
		f.Inertia, f.Mass, f.Budget, err = part.Rings([]part.Ring{ring}, part.DefaultPrecision(1))
		if err != nil {
			return wrong(err)
		}
		return out.finish(cmd, f, practice.Modifying)
	}
	out.add(cmd)
	return cmd
}

// setDensity gives a ring the density of its material; one with a thickness needs it.
func setDensity(r *part.Ring, material string) error {
	if material == "" {
		if r.Thickness > 0 {
			return cli.Usagef("a thickness needs --material steel, iron or aluminium")
		}
		return nil
	}
	density, ok := part.Densities[material]
	if !ok {
		return cli.Usagef("--material is %q; it must be steel, iron or aluminium", material)
	}
	if r.Thickness > 0 {
		r.Density = density
	}
	return nil
}

func newPartRings() *cobra.Command {
	var out benchFlags
	var rings, cuts, afterRings, afterCuts []string
	var material string
	cmd := &cobra.Command{
		Use:   "rings",
		Short: "A stepped part, as a list of rings",
		Long: `rings adds up the rings that a part is made of, and takes off those cut out of it. Each is outer, inner, and either mass
or thickness, with units: outer=280mm,inner=40mm,thickness=12mm or outer=11in,mass=9.3lb. Without a unit it is mm and kg.
With --after-ring the new part is set against the old one.`,
		Example: `  $ fw-analyze part rings --material steel --ring outer=280,inner=40,thickness=12 --ring outer=280,inner=220,thickness=10`,
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			f := &part.Finding{Method: "rings"}
			var err error
			f.Inertia, f.Mass, f.Budget, err = readRings(rings, cuts, material)
			if err != nil {
				return err
			}
			if len(afterRings) > 0 {
				if f.After, _, _, err = readRings(afterRings, afterCuts, material); err != nil {
					return err
				}
				f.Mass, f.Budget = nil, nil
				f.Change = difference(f.Inertia, f.After)
			}
			return out.finish(cmd, f, practice.Modifying)
		},
	}
	cmd.Flags().StringArrayVar(&rings, "ring", nil, "a ring of the part (repeats)")
	cmd.Flags().StringArrayVar(&cuts, "cut", nil, "a ring cut out of it (repeats)")
	cmd.Flags().StringArrayVar(&afterRings, "after-ring", nil, "a ring of the new part (repeats)")
	cmd.Flags().StringArrayVar(&afterCuts, "after-cut", nil, "a ring cut out of the new part (repeats)")
	cmd.Flags().StringVar(&material, "material", "", "steel, iron or aluminium, for rings with a thickness")
	out.add(cmd)
	return cmd
}

// difference is after minus before of parts whose errors share nothing.
func difference(before, after *stats.Estimate) *stats.Estimate {
	return stats.Normal(after.Value-before.Value, math.Hypot(before.SD, after.SD))
}

func readRings(rings, cuts []string, material string) (inertia, mass *stats.Estimate, budget []part.Share, err error) {
	var list []part.Ring
	for i, text := range slices.Concat(rings, cuts) {
		r, err := parseRing(text)
		if err != nil {
			return nil, nil, nil, err
		}
		if err := setDensity(&r, material); err != nil {
			return nil, nil, nil, err
		}
		r.Cut = i >= len(rings)
		list = append(list, r)
	}
	if len(rings) == 0 {
		return nil, nil, nil, cli.Usagef("no --ring given: outer=280,inner=40,thickness=12 or outer=280,mass=7.8")
	}
	inertia, mass, budget, err = part.Rings(list, part.DefaultPrecision(len(list)))
	return inertia, mass, budget, wrong(err)
}

// parseRing reads outer=280mm,inner=40mm,thickness=12mm or outer=280,mass=7.8.
func parseRing(text string) (part.Ring, error) {
	var r part.Ring
	fields := map[string]*float64{"outer": &r.Outer, "inner": &r.Inner, "thickness": &r.Thickness, "mass": &r.Mass}
	seen := map[string]bool{}
	for _, pair := range strings.Split(text, ",") {
		key, value, ok := strings.Cut(strings.TrimSpace(pair), "=")
		field := fields[key]
		if !ok || field == nil {
			return r, cli.Usagef("%q in ring %q: give outer=, inner=, thickness= or mass=", pair, text)
		}
		if seen[key] {
			return r, cli.Usagef("ring %q gives %s twice", text, key)
		}
		seen[key] = true
		unit, si := "mm", "m"
		if key == "mass" {
			unit, si = "kg", "kg"
		}
		x, err := parseMeasure(value, unit, si)
		if err != nil {
			return r, cli.Usagef("ring %q: %s %v", text, key, err)
		}
		*field = x
	}
	return r, nil
}

// parseMeasure reads a number with an optional unit, such as 280, 280mm or 11in, into the SI unit.
func parseMeasure(text, unit, si string) (float64, error) {
	text = strings.TrimSpace(text)
	end := len(text) - len(strings.TrimLeft(text, "+-.0123456789"))
	x, err := strconv.ParseFloat(text[:end], 64)
	if err != nil {
		return 0, fmt.Errorf("is %q; it must be a number, with its unit if it is not in %s", text, unit)
	}
	if suffix := strings.TrimSpace(text[end:]); suffix != "" {
		unit = suffix
	}
	return vehicle.Convert(x, unit, si)
}

func newPartWeight() *cobra.Command {
	var out benchFlags
	cmd := &cobra.Command{
		Use:     "weight",
		Short:   "What weight alone can tell: a range, never a number",
		Example: `  $ fw-analyze part weight --mass-kg 7.8 --outer-mm 280`,
		Args:    cobra.NoArgs,
	}
	mass := addQuantity(cmd, "mass", "mass", "mass")
	outer := addQuantity(cmd, "outer", "length", "outer diameter, where it is known")
	cmd.RunE = func(cmd *cobra.Command, _ []string) error {
		var r reader
		m, d := r.need(mass), r.or(outer, 0)
		if r.err != nil {
			return r.err
		}
		low, high, err := part.WeightRange(m, d)
		if err != nil {
			return wrong(err)
		}
		return out.finish(cmd, &part.Finding{Method: "weight", Range: &[2]float64{low, high}}, practice.Modifying)
	}
	out.add(cmd)
	return cmd
}
