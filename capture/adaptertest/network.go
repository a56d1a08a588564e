package adaptertest

import (
	"errors"
	"net"
	"os"
	"time"
)

// Serve runs the double in real time behind a listener, one connection at a time, until the listener is closed. While it is
// away it takes no connection and lets go the one that it has.
func (d *Double) Serve(l net.Listener) {
	begin := time.Now()
	d.Begun = begin
	for {
		conn, err := l.Accept()
		if err != nil {
			return
		}
		d.serve(conn, begin)
		conn.Close()
	}
}

func (d *Double) serve(conn net.Conn, begin time.Time) {
	const tick = 2 * time.Millisecond
	buf := make([]byte, 64)
	for {
		d.now = time.Since(begin)
		if d.away() {
			d.cut(d.now)
			d.out = nil
			d.powerUp()
			return
		}
		_ = conn.SetReadDeadline(time.Now().Add(tick)) // an error shows at the read
		n, err := conn.Read(buf)
		d.now = time.Since(begin)
		for _, b := range buf[:n] {
			d.receive(d.now, b)
		}
		if err != nil && !errors.Is(err, os.ErrDeadlineExceeded) {
			return
		}
		var due []byte
		for len(d.out) > 0 && d.out[0].at <= d.now {
			due = append(due, d.out[0].b)
			d.out = d.out[1:]
		}
		if len(due) > 0 {
			if _, err := conn.Write(due); err != nil {
				return
			}
		}
	}
}
