package obd

import (
	"encoding/hex"
	"errors"
	"math"
	"strings"
	"testing"

	"flywitness/drive"
)

func bytesOf(t testing.TB, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(s, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// Worked values of SAE J1979 / ISO 15031-5 service 01 scaling (from memory).
func TestValuesOfTheStandard(t *testing.T) {
	tried := map[string]bool{}
	for _, c := range []struct {
		reply, channel string
		want, within   float64
	}{
		{"41 0C 1A F8", drive.EngineSpeed, 1726, 0},
		{"41 0D 32", drive.VehicleSpeed, 50, 0},
		{"41 05 7B", drive.CoolantTemp, 83, 0},
		{"41 04 80", drive.EngineLoad, 50.2, 0.01},
		{"41 10 01 C2", drive.AirFlow, 4.50, 1e-12},
		{"41 0B 64", drive.IntakePressure, 100, 0},
		{"41 62 AF", drive.EngineTorque, 50, 0},
		{"41 63 01 18", drive.ReferenceTorque, 280, 0},
		{"41 61 7D", drive.DemandedTorque, 0, 0},
		{"41 11 FF", drive.Throttle, 100, 0},
		{"41 49 00", drive.Pedal, 0, 0},
		{"41 42 36 B0", drive.ModuleVoltage, 14.0, 1e-12},
		{"41 03 02 00", drive.FuelSystemStatus, 2, 0},
		{"41 5C 28", drive.OilTemp, 0, 0},
		{"41 46 3C", drive.AmbientTemp, 20, 0},
		{"41 0F 3C", drive.IntakeTemp, 20, 0},
		{"41 33 65", drive.BarometricPressure, 101, 0},
		{"41 06 80", drive.ShortFuelTrim, 0, 0},
		{"41 07 00", drive.LongFuelTrim, -100, 0},
		{"41 07 83", drive.LongFuelTrim, 2.34, 0.01},
		{"41 44 80 00", drive.CommandedLambda, 1, 0},
		{"41 5E 01 90", drive.FuelRate, 20, 1e-12},
		{"41 0E A8", drive.SparkAdvance, 20, 0},
		{"41 0E 00", drive.SparkAdvance, -64, 0},
		{"41 2E 33", drive.CanisterPurge, 20, 1e-12},
		{"41 1F 01 2C", drive.RunTime, 300, 0},
	} {
		tried[c.channel] = true
		v, err := Values(bytesOf(t, c.reply), []PID{PID(bytesOf(t, c.reply)[1])})
		if err != nil || len(v) != 1 {
			t.Fatalf("%s: %v, %v", c.reply, v, err)
		}
		if v[0].Channel != c.channel || math.Abs(v[0].V-c.want) > c.within {
			t.Errorf("%s = %s %v, want %s %v", c.reply, v[0].Channel, v[0].V, c.channel, c.want)
		}
		back, ok := v[0].Encode(v[0].V)
		if want := bytesOf(t, c.reply)[2:]; !ok || string(back) != string(want) {
			t.Errorf("%s encodes back to %X", c.reply, back)
		}
	}
	for _, p := range Parameters() {
		if !tried[p.Channel] {
			t.Errorf("%s has no worked value here", p.Channel)
		}
	}
}

// The decimals that are kept tell every step of every parameter apart.
func TestDecodeAndBack(t *testing.T) {
	for _, p := range Parameters() {
		for raw := range 1 << (8 * p.Size) {
			b := []byte{byte(raw), 0}[:p.Size]
			if p.Size == 2 && !p.FirstByteOnly {
				b = []byte{byte(raw >> 8), byte(raw)}
			}
			v, err := p.Decode(b)
			if back, ok := p.Encode(v); err != nil || !ok || string(back) != string(b) {
				t.Fatalf("%s: % X is %v, and that is % X (%v, %v)", p.Channel, b, v, back, ok, err)
			}
		}
	}
}

// The mask BE 1F A8 13 of parameter 00 is the widely printed sample (from memory).
func TestSupportMask(t *testing.T) {
	var s Support
	if err := s.Add(0x00, bytesOf(t, "41 00 BE 1F A8 13")); err != nil {
		t.Fatal(err)
	}
	want := []PID{0x01, 0x03, 0x04, 0x05, 0x06, 0x07, 0x0C, 0x0D, 0x0E, 0x0F, 0x10, 0x11, 0x13, 0x15, 0x1C, 0x1F, 0x20}
	got := pids(&s)
	if len(got) != len(want) {
		t.Fatalf("got %X, want %X", got, want)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Fatalf("got %X, want %X", got, want)
		}
	}
	if err := s.Add(0x20, bytesOf(t, "41 20 80")); !errors.Is(err, errIncomplete) {
		t.Errorf("a short mask gives %v", err)
	}
}

func TestValuesSeveralInOneReply(t *testing.T) {
	asked := []PID{EngineSpeed, VehicleSpeed, mustBe(drive.Throttle)}
	// in another order than asked, one left out, padded
	v, err := Values(bytesOf(t, "41 0D 32 0C 1A F8 55 55"), asked)
	if err != nil || len(v) != 2 || v[0].V != 50 || v[1].V != 1726 {
		t.Fatalf("%v, %v", v, err)
	}
	v, err = Values(bytesOf(t, "41 0C 1A F8 0D"), asked)
	if !errors.Is(err, errIncomplete) || len(v) != 1 {
		t.Errorf("torn reply: %v, %v", v, err)
	}
	if _, err = Values(bytesOf(t, "41 05 7B"), asked); err == nil {
		t.Error("an answer to another question was taken")
	}
	var n NegativeReply
	if _, err = Values(bytesOf(t, "7F 01 12"), asked); !errors.As(err, &n) || n.Code != 0x12 || n.Pending() {
		t.Errorf("negative reply gives %v", err)
	}
	if asked[0] != EngineSpeed || asked[2] != mustBe(drive.Throttle) {
		t.Error("the caller's list was changed")
	}
}

func TestImplausible(t *testing.T) {
	p, _ := ByPID(EngineSpeed)
	if v, _ := p.Decode([]byte{0xFF, 0xFF}); p.Plausible(v) {
		t.Errorf("%v rpm passes", v)
	}
	if _, ok := p.Encode(20000); ok {
		t.Error("20000 rpm was encoded")
	}
}

func TestRequest(t *testing.T) {
	if b, err := Request(EngineSpeed, VehicleSpeed); err != nil || string(b) != "\x01\x0C\x0D" {
		t.Errorf("%X, %v", b, err)
	}
	if _, err := Request(); err == nil {
		t.Error("empty request")
	}
	if _, err := Request(1, 2, 3, 4, 5, 6, 7); err == nil {
		t.Error("seven parameters")
	}
}

func TestInfo(t *testing.T) {
	can := Format{CAN11, true}
	msgs, err := can.Messages([]string{
		"7E8 10 14 49 02 01 41 42 43", "7E8 21 31 32 33 34 35 36 37", "7E8 22 38 39 30 31 32 33 34"})
	if err != nil {
		t.Fatal(err)
	}
	if vin, err := Info(msgs, VIN); err != nil || vin[0] != "ABC12345678901234" {
		t.Errorf("%q, %v", vin, err)
	}
	// the same over a K-line: five numbered messages, the first filled with 00
	k := Format{}
	lines := []string{"49020100000041", "49020242433132", "49020333343536", "49020437383930", "49020531323334"}
	msgs, err = k.Messages(lines)
	if err != nil {
		t.Fatal(err)
	}
	if vin, err := Info(msgs, VIN); err != nil || vin[0] != "ABC12345678901234" {
		t.Errorf("%q, %v", vin, err)
	}
	if _, err := Info(append(msgs[:2:2], msgs[3:]...), VIN); !errors.Is(err, errIncomplete) {
		t.Errorf("a lost message gives %v", err)
	}
	cvn, err := Info([]Message{{Data: bytesOf(t, "49 06 02 17 91 BC 82 16 E0 62 BE")}}, CalibrationVerification)
	if err != nil || len(cvn) != 2 || cvn[0] != "1791BC82" || cvn[1] != "16E062BE" {
		t.Errorf("%q, %v", cvn, err)
	}
	id, err := Info([]Message{{Data: append(bytesOf(t, "49 04 01"), "MULE-0001-A\x00\x00\x00\x00\x00"...)}}, CalibrationID)
	if err != nil || len(id) != 1 || id[0] != "MULE-0001-A" {
		t.Errorf("%q, %v", id, err)
	}
}

func TestLampAndCounters(t *testing.T) {
	if l, err := DecodeLamp(bytesOf(t, "41 01 82 07 65 04")); err != nil || !l.On || l.Codes != 2 {
		t.Errorf("%+v, %v", l, err)
	}
	if n, err := DecodeWarmUps(bytesOf(t, "41 30 0C")); err != nil || n != 12 {
		t.Errorf("%d, %v", n, err)
	}
	if n, err := DecodeDistance(bytesOf(t, "41 31 01 2C")); err != nil || n != 300 {
		t.Errorf("%d, %v", n, err)
	}
}

// pids returns the parameters of the set in ascending order.
func pids(s *Support) []PID {
	var list []PID
	for i, have := range s.bits {
		if have {
			list = append(list, PID(i))
		}
	}
	return list
}
