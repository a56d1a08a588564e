//go:build linux

package main

import (
	"encoding/json"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"flywitness/internal/influxd"
)

func influxFlags(t *testing.T) (*influxd.Server, []string) {
	t.Helper()
	db := influxd.StartForWrites(t)
	token := filepath.Join(t.TempDir(), "token")
	if err := os.WriteFile(token, []byte(influxd.Token), 0o600); err != nil {
		t.Fatal(err)
	}
	return db, []string{"--influx", db.URL, "--bucket", db.Bucket, "--token-file", token}
}

// A recording is in the database when it ends, under the name that its car has; push finds nothing left to send.
func TestRecordIntoTheDatabase(t *testing.T) {
	t.Parallel()
	db, flags := influxFlags(t)
	file := filepath.Join(t.TempDir(), "drive.csv")
	record := []string{"record", "--port", "emulated", "--out", file, "--for", "30s", "--json", "--as", "Mule"}
	status, out, msgs := runIn(bench(t, "canmulti"), append(record, flags...)...)
	if status != 0 || !strings.Contains(msgs, "sent as influx:vehicle=Mule,drive=") {
		t.Fatalf("%d: %s", status, msgs)
	}
	var result recorded
	if err := json.Unmarshal([]byte(out), &result); err != nil {
		t.Fatal(err)
	}
	rows := db.InfluxQL(`SELECT COUNT("latency_ms") FROM "` + db.DB() + `"."autogen"."drive"`)
	if n, _ := rows[0][1].(json.Number).Int64(); int(n) != result.Record.Rows || n == 0 {
		t.Errorf("%d rows in the database, %d recorded", n, result.Record.Rows)
	}
	data, err := os.ReadFile(file)
	if err != nil || strings.Contains(string(data), "sesame") {
		t.Errorf("the session file holds the token, or %v", err)
	}
	if status, out, msgs = run(append([]string{"push", file, "--as", "Mule"}, flags...)...); status != 0 || !strings.Contains(out, "nothing left to send") {
		t.Errorf("%d: %s %s", status, out, msgs)
	}
	status, out, _ = run(append([]string{"push", file, "--as", "Mule", "--again", "--json"}, flags...)...)
	if status != 0 || !strings.Contains(out, `"name": "influx:vehicle=Mule,drive=`) {
		t.Errorf("%d: %s", status, out)
	}
}

// Refused rows: exit 1, the reason in a file.
func TestPushRefused(t *testing.T) {
	t.Parallel()
	db, flags := influxFlags(t)
	db.InfluxQL(`CREATE RETENTION POLICY "day" ON "` + db.DB() + `" DURATION 1d REPLICATION 1`)
	flags[3] = db.DB() + "/day"
	file := filepath.Join(t.TempDir(), "old.csv")
	text := "# format: session 1\n# created: 2020-01-01T00:00:00Z\n# vehicle: Mule\ntime_s,engine_speed_rpm,vehicle_speed_kmh\n0,800,0\n1,810,0\n"
	if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	for range 2 { // the second time nothing is sent, and it is told again
		status, out, msgs := run(append([]string{"push", file}, flags...)...)
		if status != 1 || !strings.Contains(out, file+".rejected") || !strings.Contains(msgs, "--again") {
			t.Errorf("%d: %s %s", status, out, msgs)
		}
	}
}

// A recording does not wait for a database that is not there, and says how to send it later.
func TestRecordWithoutTheDatabase(t *testing.T) {
	t.Parallel()
	gone, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	gone.Close()
	file := filepath.Join(t.TempDir(), "drive.csv")
	in := bench(t, "canmulti")
	in.grace = 200 * time.Millisecond
	status, _, msgs := runIn(in, "record", "--port", "emulated", "--out", file, "--for", "30s", "--as", "Mule", "--influx", "http://"+gone.Addr().String(), "--bucket", "b")
	if status != 0 || !strings.Contains(msgs, "nothing is lost") || !strings.Contains(msgs, "fw-logger push") {
		t.Errorf("%d: %s", status, msgs)
	}
}
