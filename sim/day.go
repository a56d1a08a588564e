package sim

import (
	"bufio"
	"io"
	"math/rand/v2"
	"strconv"

	"flywitness/drive"
)

// The columns of WriteDay behind the time, and how many decimals each is written with.
var (
	dayChannels = []string{drive.EngineSpeed, drive.VehicleSpeed, drive.Throttle, drive.EngineLoad, drive.Pedal, drive.CoolantTemp,
		drive.OilTemp, drive.IntakePressure}
	dayDecimals = []int{2, 0, 2, 2, 2, 1, 1, 1}
)

// WriteDay writes hours of mixed driving by the Bench mule as a table of nine columns and 20 rows a second: a day has 1.7 million rows
// and 90 MB. Every hour is a drive of its own on its own road. The same seed gives the same bytes.
func WriteDay(w io.Writer, hours int, seed uint64) error {
	b := bufio.NewWriterSize(w, 1<<20)
	b.WriteString("Time (s)")
	for _, n := range dayChannels {
		b.WriteString("," + heading(n))
	}
	b.WriteByte('\n')
	rng := rand.New(rand.NewPCG(seed, 24))
	logger := NewLogger(CANMulti)
	logger.Fast, logger.Slow = dayChannels, []string{}
	row := make([]byte, 0, 256)
	for hour := range hours {
		truth := Drive(BenchMule(), HillyRoad(rng, 0.015, 300), []Action{Traffic(rng, 60, MixedTraffic())}, rng)
		for _, r := range logger.Poll(truth, rng) {
			if r.T >= 3600 {
				break
			}
			row = strconv.AppendFloat(row[:0], float64(hour)*3600+r.T, 'f', 3, 64)
			for i, v := range r.Readings {
				row = strconv.AppendFloat(append(row, ','), v.Value, 'f', dayDecimals[i], 64)
			}
			b.Write(append(row, '\n'))
		}
	}
	return b.Flush()
}
