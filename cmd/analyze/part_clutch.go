package main

import (
	"flywitness/analysis/part"
	"flywitness/analysis/practice"
	"flywitness/cmd/internal/cli"

	"github.com/spf13/cobra"
)

func newPartClutch() *cobra.Command {
	var out benchFlags
	var friction, frictionSD float64
	var faces int
	cmd := &cobra.Command{
		Use:   "clutch",
		Short: "The torque that a clutch can hold, by its sizes, alone or against another size",
		Long: `clutch takes the torque capacity from the sizes of the lining, the clamp load, the friction coefficient and the number of
friction faces (two for each disc). What is not given is taken from [clutch] of the vehicle file. With --other-outer-mm
another size is set against it; what is the same in both drops out of their ratio.`,
		Example: `  $ fw-analyze part clutch --outer-mm 228 --inner-mm 150 --clamp-n 7200 --other-outer-mm 240 --other-inner-mm 155
  $ fw-analyze part clutch --vehicle testdata/demo/mule.toml --clamp-n 7200 --outer-mm 240 --inner-mm 155 --torque-nm 350`,
		Args: cobra.NoArgs,
	}
	outer := addQuantity(cmd, "outer", "length", "outer diameter of the lining")
	inner := addQuantity(cmd, "inner", "length", "inner diameter of the lining")
	clamp := addQuantity(cmd, "clamp", "force", "clamp load")
	otherOuter := addQuantity(cmd, "other-outer", "length", "outer diameter of another lining")
	otherInner := addQuantity(cmd, "other-inner", "length", "inner diameter of the other lining")
	otherClamp := addQuantity(cmd, "other-clamp", "force", "clamp load of the other clutch, when it differs")
	torque := addQuantity(cmd, "torque", "torque", "a torque to hold: the clamp load that it needs")
	cmd.Flags().Float64Var(&friction, "friction", part.DefaultFriction, "friction coefficient")
	cmd.Flags().Float64Var(&frictionSD, "friction-sd", part.DefaultFrictionSD, "its standard deviation")
	cmd.Flags().IntVar(&faces, "faces", part.DefaultFaces, "friction faces, 2 for each disc")
	out.add(cmd)
	cmd.RunE = func(cmd *cobra.Command, _ []string) error {
		v, err := loadVehicle(out.vehicle, cmd.ErrOrStderr())
		if err != nil {
			return err
		}
		c := part.Clutch{Friction: friction, FrictionSD: frictionSD, Faces: faces}
		if v != nil && v.Clutch != nil {
			c.Outer, c.Inner, c.Clamp = v.Clutch.OuterDiameter, v.Clutch.InnerDiameter, v.Clutch.ClampLoad
			if v.Clutch.FrictionCoefficient > 0 && !cmd.Flags().Changed("friction") {
				c.Friction = v.Clutch.FrictionCoefficient
			}
			if v.Clutch.FrictionFaces > 0 && !cmd.Flags().Changed("faces") {
				c.Faces = v.Clutch.FrictionFaces
			}
		}
		var r reader
		c.Outer, c.Inner, c.Clamp = fill(&r, outer, c.Outer), fill(&r, inner, c.Inner), fill(&r, clamp, c.Clamp)
		c.ClampSD = part.DefaultClampSD * c.Clamp
		other, against := c, r.given(otherOuter) || r.given(otherInner) || r.given(otherClamp)
		other.Outer, other.Inner, other.Clamp = r.or(otherOuter, c.Outer), r.or(otherInner, c.Inner), r.or(otherClamp, c.Clamp)
		other.ClampSD = part.DefaultClampSD * other.Clamp
		needed := r.or(torque, 0)
		if r.err != nil {
			return r.err
		}
		if r.given(torque) && !(needed > 0 && needed < 1e5) {
			return cli.Usagef("%s must lie between 0 and 100000", torque.name())
		}
		f, err := clutchFinding(c, other, against)
		if err != nil {
			return wrong(err)
		}
		if needed > 0 {
			clampLoad := c.ClampFor(needed)
			f.ClampFor = &clampLoad
		}
		return out.finish(cmd, f, practice.Fitting, practice.Reading)
	}
	return cmd
}

// fill reads a size that the vehicle file may give instead.
func fill(r *reader, q *quantityFlag, fromFile float64) float64 {
	if fromFile > 0 {
		return r.or(q, fromFile)
	}
	return r.need(q)
}

func clutchFinding(c, other part.Clutch, against bool) (*part.Finding, error) {
	f := &part.Finding{Method: "clutch"}
	capacity, err := c.Capacity()
	if err != nil {
		return nil, err
	}
	f.Capacity = &capacity
	if !against {
		return f, nil
	}
	second, err := other.Capacity()
	if err != nil {
		return nil, err
	}
	f.OtherSize = &second
	f.Ratio, err = c.Ratio(other)
	return f, err
}
