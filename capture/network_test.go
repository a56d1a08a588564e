package capture_test

import (
	"net"
	"sync"
	"testing"
	"time"

	"flywitness/capture"
	"flywitness/capture/adapter"
	"flywitness/capture/adaptertest"
	"flywitness/capture/clock"
	"flywitness/drive"
)

// An adapter on a network is recorded as one on a serial line: the same dialogue, the same return after it went away, and after
// it kept the connection and said nothing.
func TestAdapterOnANetwork(t *testing.T) {
	t.Parallel()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	d := adaptertest.New('6')
	d.Baud = 1_000_000
	var from time.Duration // when the recording began, on the double's clock
	d.Away = func(at time.Duration) bool {
		return from > 0 && at > from+time.Second && at < from+1500*time.Millisecond
	}
	d.Script = func(x *adaptertest.Exchange) {
		if from == 0 && x.N >= 6 && x.Command == "010C" {
			from = x.At
		}
		x.Mute = from > 0 && x.At > from+2500*time.Millisecond && x.At < from+3*time.Second
	}
	var served sync.WaitGroup
	served.Go(func() { d.Serve(l) })

	name := "tcp://" + l.Addr().String()
	a := adapter.New(func(baud int) (adapter.Port, error) { return adapter.OpenPort(name, baud) }, clock.System{}, adapter.Options{Network: true})
	if err := a.Meet(t.Context(), func(string) {}); err != nil {
		t.Fatal(err)
	}
	m := newMemory()
	created := time.Now()
	sum, err := capture.Record(t.Context(), capture.Config{Adapter: a, Clock: clock.System{}, Sink: m, Created: created, For: 6 * time.Second})
	if err != nil {
		t.Fatal(err)
	}
	a.Close()
	l.Close()
	served.Wait()
	k := took{rows: m, sum: sum}
	k.compare(d, created.Sub(d.Begun))
	if last := m.rows[len(m.rows)-1].t; k.wrong > 0 || k.channels < 3 || sum.Gaps < 1 || last < 5 || sum.Rates[drive.EngineSpeed] < 5 {
		t.Errorf("%d wrong values, %d channels, last row %.1f s, %+v, notes %q", k.wrong, k.channels, last, sum, m.notes)
	}
	if _, err := adapter.OpenPort(name, 0); err == nil {
		t.Error("nobody listens, and it opened")
	}
	for _, bad := range []string{"tcp://", "tcp://host", "tcp://:1", "tcp://host:"} {
		if adapter.CheckName(bad) == nil {
			t.Errorf("%s was taken", bad)
		}
	}
}
