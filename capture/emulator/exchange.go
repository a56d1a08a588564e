package emulator

import (
	"strings"
	"time"

	"flywitness/capture/obd"
)

// exchange sends a request to the car and prints what it answers. The value is taken between the end of the request at
// the control unit and the beginning of its reply.
func (d *Device) exchange(began, start time.Duration, request []byte, count int) {
	l := d.Link
	if !l.CAN && start < d.busFree+l.Pause {
		start = d.busFree + l.Pause
	}
	asked := start + l.onBus(len(request), l.ByteGap, d.rng)
	wait := l.Control.draw(d.rng)
	if d.Faults.active(Slow, began) {
		wait *= 6
	}
	begins := asked + wait
	sampled := d.moment(asked, begins)
	data := reply(d.car, request, sampled.Seconds())
	if len(request) > 2 && !l.Several && len(data) > 0 {
		data = d.first(request, sampled)
	}
	if data == nil && !l.CAN {
		data = []byte{0x7F, request[0], 0x12}
	}
	if data == nil || d.Faults.active(NoData, began) || wait > l.GivesUp+time.Second {
		d.say(asked+l.GivesUp, "NO DATA")
		return
	}
	at := begins + l.onBus(len(data), l.ReplyGap, d.rng)
	d.busFree = at
	end := d.printMessage(at, data, count, request)
	if end.count > 0 && (count == 0 || end.count < count) {
		end.at += l.Quiet
	}
	d.print(end.at, d.eol())
	d.prompt(end.at)
	if d.OnSample != nil && request[0] == obd.CurrentData {
		d.OnSample(Sample{PIDs: pidsOf(request), Sampled: sampled, Began: began, Ended: d.lastOut})
	}
}

// first is what a car does with a request for several parameters when it knows only one: it takes the first.
func (d *Device) first(request []byte, sampled time.Duration) []byte {
	if d.Link.CAN {
		return nil
	}
	return reply(d.car, request[:2], sampled.Seconds())
}

func pidsOf(request []byte) []obd.PID {
	var pids []obd.PID
	for _, b := range request[1:] {
		pids = append(pids, obd.PID(b))
	}
	return pids
}

// moment draws when the value is taken.
func (d *Device) moment(asked, begins time.Duration) time.Duration {
	switch d.Link.Sampling {
	case OnRequest:
		return asked
	case OnReply:
		return begins
	case FromTask:
		const task = 10 * time.Millisecond
		return (asked + Span{0, begins - asked}.draw(d.rng)).Truncate(task)
	default:
		return asked + Span{0, begins - asked}.draw(d.rng)
	}
}

// printed is how many lines were printed and when the last one was complete at the adapter.
type printed struct {
	count int
	at    time.Duration
}

// printMessage prints the lines of a reply, up to count when that is not 0; the second control unit answers a little later.
func (d *Device) printMessage(at time.Duration, data []byte, count int, request []byte) printed {
	var lines []string
	if !d.Link.CAN {
		lines = lineMessages(data, d.state.headers)
	} else {
		lines = canLines("7E8", data, d.state.headers)
		if d.Gearbox && !d.state.filter {
			lines = append(lines, canLines("7E9", gearboxReply(request), d.state.headers)...)
		}
	}
	p := printed{at: at}
	for i, line := range lines {
		if count > 0 && i >= count {
			break
		}
		if i > 0 {
			p.at += d.frameGap(line)
		}
		if !d.state.blanks {
			line = strings.ReplaceAll(line, " ", "")
		}
		if d.Quirks.Stray > 0 && d.rng.Float64() < d.Quirks.Stray {
			line = "\x00" + line
		}
		d.print(p.at, line+d.eol())
		p.count++
	}
	return p
}

func (d *Device) frameGap(line string) time.Duration {
	if d.Link.CAN {
		return canFrame + d.Link.NextFrame.draw(d.rng)
	}
	return d.Link.onBus(len(line)/3, d.Link.ReplyGap, d.rng) + d.Link.Control.Min
}

// gearboxReply is a control unit that knows road speed only, and says 99 km/h: taken for the engine's it would be seen.
func gearboxReply(request []byte) []byte {
	if len(request) == 2 && request[1] == 0 {
		return []byte{0x41, 0x00, 0x00, 0x08, 0x00, 0x00}
	}
	if len(request) == 2 && obd.PID(request[1]) == obd.VehicleSpeed {
		return []byte{0x41, 0x0D, 99}
	}
	return []byte{0x7F, request[0], 0x12}
}
