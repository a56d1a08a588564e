//go:build proof

package capture_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"flywitness/capture"
	"flywitness/capture/emulator"
	"flywitness/capture/obd"
	"flywitness/drive"
)

func mean(s emulator.Span) time.Duration { return (s.Min + s.Max) / 2 }

// least is the mean time of the shortest dialogue that a link allows: the bare request and carriage return out, the bare reply, its
// line ends and the prompt back, and between them what adapter, bus and control unit take; no wait that could be avoided.
func least(l emulator.Link, requestBytes, replyBytes int) time.Duration {
	char := 10 * time.Second / time.Duration(l.Baud)
	out := time.Duration(2*requestBytes+1)*char + mean(l.Transport) + mean(l.Processing)
	back := time.Duration(2*replyBytes+3)*char + mean(l.Transport)
	if l.CAN {
		return out + 2*230*time.Microsecond + mean(l.Control) + back
	}
	// the adapter may begin its request no sooner than Pause after the last reply; serial line and processing hide behind that
	bus := func(n int, gap emulator.Span) time.Duration {
		return time.Duration(n+4)*962*time.Microsecond + time.Duration(n+3)*mean(gap)
	}
	before := max(l.Pause, out+back)
	return before + bus(requestBytes, l.ByteGap) + mean(l.Control) + bus(replyBytes, l.ReplyGap)
}

// replyBytes is the length of the reply to a request, and the frames that it takes on CAN.
func replyBytes(pids []obd.PID) (bytes, frames int) {
	bytes, frames = 1, 1
	for _, pid := range pids {
		p, _ := obd.ByPID(pid)
		bytes += 1 + p.Size
	}
	if bytes > 7 {
		frames = 1 + (bytes-6+6)/7
	}
	return bytes, frames
}

// At least 95 % of the poll rate that the link's latency allows for the requests that were made, on all three links.
func TestProofPollRate(t *testing.T) {
	fmt.Println("| link | poll list | requests/s possible | requests/s reached | share | engine speed, values/s | road speed, values/s | load, values/s |")
	fmt.Println("|---|---|---|---|---|---|---|---|")
	tr := mule()
	for _, link := range emulator.Links() {
		for _, plan := range []capture.Plan{capture.RoadPlan(), capture.PullPlan(), capture.RevDownPlan()} {
			const length = 10 * time.Minute
			b := newBed(link, tr, true)
			sum := b.record(t, capture.Config{For: length, Plan: func() capture.Plan { return plan }}, newMemory())
			var needed time.Duration
			for _, s := range b.samples {
				bytes, frames := replyBytes(s.PIDs)
				needed += least(link, 1+len(s.PIDs), bytes)
				if link.CAN {
					needed += time.Duration(frames-1) * (230*time.Microsecond + mean(link.NextFrame))
				}
			}
			share := needed.Seconds() / (length - b.before).Seconds()
			reached := float64(sum.Rows) / (length - b.before).Seconds()
			fmt.Printf("| %s | %s | %.2f | %.2f | %.1f %% | %.2f | %.2f | %.2f |\n", link.Name, plan.Name, reached/share, reached, 100*share,
				sum.Rates[drive.EngineSpeed], sum.Rates[drive.VehicleSpeed], sum.Rates[drive.EngineLoad])
			if share < 0.95 {
				t.Errorf("%s, %s: %.1f %% of the possible rate", link.Name, plan.Name, 100*share)
			}
		}
	}
}

// The error of a row's time against the moment at which the control unit took the value, relative to the reply time.
func TestProofTimeStamps(t *testing.T) {
	modes := []struct {
		name string
		mode emulator.Sampling
		held bool // to the bounds that are set for a moment that nothing is known of
	}{
		{"anywhere between request and reply", emulator.Anywhere, true},
		{"from a 10 ms task", emulator.FromTask, false},
		{"as the request arrives", emulator.OnRequest, false},
		{"as the reply begins", emulator.OnReply, false},
	}
	fmt.Println("| link | control unit takes the value | reply time, ms | bias, ms | sd, ms | bias / reply time | sd / reply time |")
	fmt.Println("|---|---|---|---|---|---|---|")
	tr := mule()
	for _, link := range emulator.Links() {
		for _, m := range modes {
			link.Sampling = m.mode
			b := newBed(link, tr, true)
			mem := newMemory()
			b.record(t, capture.Config{For: 5 * time.Minute}, mem)
			if len(mem.rows) != len(b.samples) {
				t.Fatalf("%d rows of %d samples", len(mem.rows), len(b.samples))
			}
			var sum, square, reply float64
			for i, r := range mem.rows {
				off := r.t - b.samples[i].Sampled.Seconds()
				sum, square, reply = sum+off, square+off*off, reply+r.cells[drive.Latency]/1000
			}
			n := float64(len(mem.rows))
			bias, took := sum/n, reply/n
			sd := math.Sqrt(square/n - bias*bias)
			fmt.Printf("| %s | %s | %.1f | %+.2f | %.2f | %+.1f %% | %.1f %% |\n",
				link.Name, m.name, took*1000, bias*1000, sd*1000, 100*bias/took, 100*sd/took)
			if m.held && (math.Abs(bias) > 0.1*took || sd > 0.3*took) {
				t.Errorf("%s: bias %.1f %%, sd %.1f %% of the reply time", link.Name, 100*bias/took, 100*sd/took)
			}
		}
	}
}
