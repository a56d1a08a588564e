package adapter

import (
	"time"

	"flywitness/capture/obd"
)

// stamp estimates when the control unit took the values. The request was complete at the control unit once its characters
// had crossed the serial line and its bytes the bus; the reply began on the bus its own length before its first character
// came in. In between the control unit takes the value when it gets to it; nothing tells when, so the middle is the estimate: its error
// is at most half of that time, and with every moment equally likely its sd is 0.29 of it.
func (a *Adapter) stamp(sent, first time.Time, requestBytes, replyBytes int) Answer {
	chars := 2*requestBytes + 2 // hexadecimal digits, count, carriage return
	earliest := sent.Add(time.Duration(chars) * a.d.byteTime)
	if free := a.lastReply.Add(linePause); a.Car.Format.Link == obd.KLine && earliest.Before(free) {
		earliest = free // the adapter holds the request back until it may send it
	}
	earliest = earliest.Add(requestOnBus(a.Car.Format.Link, requestBytes))
	latest := first.Add(-a.d.byteTime - replyOnBus(a.Car.Format.Link, replyBytes))
	if latest.Before(earliest) { // the line is faster than its baud rate says (USB or radio all the way)
		earliest, latest = sent, first
	}
	return Answer{Sampled: earliest.Add(latest.Sub(earliest) / 2), Latency: first.Sub(sent)}
}

// Times on the bus, from memory. CAN: a frame of 8 bytes has about 120 bits, at 500 kbit/s. K-line: ISO 14230-2, 10.4 kbit/s with 10 bits
// a byte, three header bytes and a check byte; the tester leaves at least 5 ms between its bytes (P4), the control unit
// next to nothing (P1), and P3 is 55 ms at least. J1850: 10.4 kbit/s with 8 bits a byte (VPW, the slower one).
const (
	canFrame   = 240 * time.Microsecond
	lineByte   = 960 * time.Microsecond
	lineGap    = 5 * time.Millisecond
	linePause  = 55 * time.Millisecond // between a reply and the next request (P3)
	lineExtra  = 4
	j1850Byte  = 770 * time.Microsecond
	j1850Extra = 4
)

func requestOnBus(l obd.Link, n int) time.Duration {
	switch l {
	case obd.CAN11, obd.CAN29:
		return canFrame
	case obd.KLine:
		return time.Duration(n+lineExtra)*lineByte + time.Duration(n+lineExtra-1)*lineGap
	case obd.J1850:
		return time.Duration(n+j1850Extra) * j1850Byte
	}
	return 0
}

func replyOnBus(l obd.Link, n int) time.Duration {
	switch l {
	case obd.CAN11, obd.CAN29:
		return canFrame
	case obd.KLine:
		return time.Duration(n+lineExtra) * lineByte
	case obd.J1850:
		return time.Duration(n+j1850Extra) * j1850Byte
	}
	return 0
}
