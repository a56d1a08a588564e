package inertia

import (
	"math/rand/v2"
	"testing"
	"os"

	"flywitness/drive"
	"flywitness/sim"
)

func TestSim(t *testing.T) {
	car := sim.BenchMule()
	t.Logf("I %.4f M %.0f r %.4f  drag1500 %.1f drag 4000 %.1f DragRun %.3f session %.3f eff %.3f", car.Inertia, car.Vehicle.Mass, car.Vehicle.Radius(), car.Engine.Drag(157), car.Engine.Drag(419), car.DragRunSD, car.DragSessionSD, car.Vehicle.Gearbox.Efficiency)
	for _, link := range []sim.Link{sim.KLine, sim.CANSequential, sim.CANMulti} {
		for rep := range 3 {
			rng := rand.New(rand.NewPCG(uint64(rep), 2))
			var plan []sim.Action
			for range 6 {
				plan = append(plan, sim.FreeRev(4500))
			}
			for range 2 {
				plan = append(plan, sim.Overrun(2, 5000, 1400), sim.Coast(70, 20))
			}
			plan = append(plan, sim.Stop())
			tr := sim.Drive(car, sim.LevelRoad(), plan, rng)
			lg := sim.NewLogger(link)
			log := lg.Record(tr, rng)
			f, w := Measure([]*drive.Log{log}, nil, car.Vehicle, nil, Options{})
			t.Log(link, "duration", tr.Duration(), len(log.Channels), log.Channels[0].Len())
			if rep == 0 && os.Getenv("V") != "" {
				for _, c := range log.Channels { t.Log(c.Name, c.Len()) }
				for _, l := range tr.Labels { t.Logf("%+v", l) }
				for _, r := range f.Runs {
					t.Logf("%s g%d %.1f-%.1f used %v %s rate %.0f n=%d", r.Kind, r.Gear, r.Start, r.End, r.Used, r.WhyNot, r.MeanRate, len(r.T))
				}
			}
			for _, m := range f.Methods {
				t.Logf("%s %.4f sd %.4f %+v", m.Name, m.Inertia.Value, m.Inertia.SD, m.Error)
			}
			t.Log(w, f.WhatToDrive)
		}
	}
}
