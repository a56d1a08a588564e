package obd

import (
	"errors"
	"fmt"
	"strings"
	"testing"
)

func TestFormats(t *testing.T) {
	want := "410C1AF80D32"
	for _, c := range []struct {
		name   string
		format Format
		lines  []string
		source uint32
	}{
		{"bare", Format{CAN11, false}, []string{"41 0C 1A F8 0D 32"}, 0},
		{"lower case, no blanks", Format{CAN11, false}, []string{"410c1af80d32"}, 0},
		{"CAN 11", Format{CAN11, true}, []string{"7E8 06 41 0C 1A F8 0D 32"}, 0x7E8},
		{"CAN 11, padded, no blanks", Format{CAN11, true}, []string{"7E806410C1AF80D32AA"}, 0x7E8},
		{"CAN 29", Format{CAN29, true}, []string{"18 DA F1 10 06 41 0C 1A F8 0D 32"}, 0x18DAF110},
		{"ISO 14230", Format{KLine, true}, []string{"86 F1 10 41 0C 1A F8 0D 32 " + check("86F110410C1AF80D32")}, 0x10},
		{"ISO 14230, length byte", Format{KLine, true}, []string{"80 F1 10 06 41 0C 1A F8 0D 32 " + check("80F11006410C1AF80D32")}, 0x10},
		{"ISO 9141-2", Format{KLine, true}, []string{"48 6B 10 41 0C 1A F8 0D 32 " + check("486B10410C1AF80D32")}, 0x10},
	} {
		m, err := c.format.Messages(c.lines)
		if err != nil || len(m) != 1 || fmt.Sprintf("%X", m[0].Data) != want || m[0].Source != c.source {
			t.Errorf("%s: %+v, %v", c.name, m, err)
		}
	}
}

// check is the sum of the bytes, worked here apart from the code under test.
func check(s string) string {
	var sum int
	for i := 0; i < len(s); i += 2 {
		var x int
		_, _ = fmt.Sscanf(s[i:i+2], "%X", &x)
		sum += x
	}
	return fmt.Sprintf("%02X", sum%256)
}

// CRC-8 of SAE J1850: 0x4B is the check value of "123456789" in the catalogue of parametrised CRC algorithms (from memory).
func TestCRC8(t *testing.T) {
	if got := crc8([]byte("123456789")); got != 0x4B {
		t.Errorf("crc8 = %02X, want 4B", got)
	}
}

// Frames of ISO 15765-2 (from memory): length in the first frame, sequence 1..F, 0, 1..., a lost frame is an error.
func TestTransport(t *testing.T) {
	long := make([]byte, 0, 130)
	for i := 0; i < 130; i++ {
		long = append(long, byte(i))
	}
	frames := transportLines(long)
	if len(frames) != 19 || !strings.HasPrefix(frames[15], "7E8 2F") || !strings.HasPrefix(frames[16], "7E8 20") {
		t.Fatalf("the test's own frames are wrong: %q", frames)
	}
	f := Format{CAN11, true}
	m, err := f.Messages(frames)
	if err != nil || len(m) != 1 || string(m[0].Data) != string(long) {
		t.Fatalf("sequence wrap: %v, %v", m, err)
	}
	for lost := range frames {
		rest := append(append([]string(nil), frames[:lost]...), frames[lost+1:]...)
		if m, err := f.Messages(rest); !errors.Is(err, errIncomplete) || len(m) != 0 {
			t.Fatalf("frame %d lost: %v, %v", lost, m, err)
		}
		twice := append(append(append([]string(nil), frames[:lost+1]...), frames[lost]), frames[lost+1:]...)
		if _, err := f.Messages(twice); err == nil {
			t.Fatalf("frame %d doubled: no error", lost)
		}
	}
}

// transportLines cuts a message into the frames of ISO 15765-2, written apart from the code under test.
func transportLines(data []byte) []string {
	lines := []string{fmt.Sprintf("7E8 1%X %02X % X", len(data)>>8, len(data)&0xFF, data[:6])}
	for n, rest := 1, data[6:]; len(rest) > 0; n++ {
		k := min(7, len(rest))
		pad := strings.Repeat(" 55", 7-k)
		lines = append(lines, fmt.Sprintf("7E8 2%X % X%s", n%16, rest[:k], pad))
		rest = rest[k:]
	}
	return lines
}

func TestNumberedLines(t *testing.T) {
	lines := []string{"00E", "0: 41 0C 1A F8 0D 32", "1: 11 80 05 7B 0F 3C 0B", "2: 64 AA AA AA AA AA AA"}
	m, err := Format{CAN11, false}.Messages(lines)
	if err != nil || len(m) != 1 || fmt.Sprintf("%X", m[0].Data) != "410C1AF80D321180057B0F3C0B64" {
		t.Fatalf("%v, %v", m, err)
	}
	v, err := Values(m[0].Data, []PID{0x0C, 0x0D, 0x11, 0x05, 0x0F, 0x0B})
	if err != nil || len(v) != 6 || v[5].V != 100 {
		t.Errorf("%v, %v", v, err)
	}
	for lost := 1; lost < len(lines); lost++ {
		rest := append(append([]string(nil), lines[:lost]...), lines[lost+1:]...)
		if m, err := (Format{}).Messages(rest); err == nil || len(m) != 0 {
			t.Errorf("line %d lost: %v, %v", lost, m, err)
		}
	}
}

func TestSeveralControlUnits(t *testing.T) {
	// the frames of two control units come interleaved; the second one loses a frame, which must not cost the first
	m, err := Format{CAN11, true}.Messages([]string{
		"7E8 10 09 41 0C 1A F8 0D 32", "7E9 10 0B 41 0D 33 05 7B 11", "7E8 21 11 80 05 AA AA AA AA", "7E9 22 80 05 7B AA AA AA AA"})
	if err == nil || len(m) != 1 || m[0].Source != 0x7E8 || len(m[0].Data) != 9 || m[0].Line != 0 {
		t.Errorf("%+v, %v", m, err)
	}
}

func TestDamagedLines(t *testing.T) {
	for _, c := range []struct {
		format Format
		line   string
	}{
		{Format{KLine, true}, "84 F1 10 41 0C 1A F8 00"}, // wrong sum
		{Format{KLine, true}, "85 F1 10 41 0C 1A F8 " + check("85F110410C1AF8")},
		{Format{KLine, true}, "84 F1"},
		{Format{J1850, true}, "41 6B 10 41 0C 1A F8 00"},
		{Format{CAN11, true}, "7E8 06 41 0C"},
		{Format{CAN11, true}, "7E8 00"},
		{Format{CAN11, true}, "7E8 40 11"},
		{Format{CAN11, true}, "7E"},
		{Format{CAN11, true}, "XYZ 06 41"},
		{Format{CAN11, true}, "7E8 10 03 41 0C 1A"},
		{Format{}, "41 0"},
		{Format{}, "G1"},
		{Format{}, "0: 41 0C"},
		{Format{}, "Z: 41 0C"},
	} {
		if m, err := c.format.Messages([]string{c.line}); err == nil || len(m) != 0 {
			t.Errorf("%q gave %v without an error", c.line, m)
		}
	}
}

func TestGuess(t *testing.T) {
	for line, want := range map[string]Format{
		"41 00 BE 1F A8 13":                  {},
		"7E8 06 41 00 BE 1F A8 13":           {CAN11, true},
		"18 DA F1 10 06 41 00 BE 1F A8 13":   {CAN29, true},
		"86 F1 10 41 00 BE 1F A8 13 58":      {KLine, true},
		"48 6B 10 41 00 BE 1F A8 13 9B":      {KLine, true},
		"41 6B 10 41 00 BE 1F A8 13 00":      {J1850, true},
		"7e8064100be1fa813":                  {CAN11, true},
		"18daf110 0641 00be 1fa8 13 aa":      {CAN29, true},
		"7E8 06 41 00 BE 1F A8 13 AA AA ":    {CAN11, true},
		"48 6B 10 41 00 BE 1F A8 13 9B FF 0": {KLine, true},
	} {
		if got, ok := Guess([]string{"", line}); !ok || got != want {
			t.Errorf("%q: %v %v, want %v", line, got, ok, want)
		}
	}
	if _, ok := Guess([]string{"NO DATA"}); ok {
		t.Error("words were taken for a format")
	}
}

func FuzzMessages(f *testing.F) {
	f.Add("7E8 06 41 0C 1A F8 0D 32", uint8(3), true)
	f.Add("00E\n0: 41 0C 1A F8 0D 32\n1: 11 80 05 7B 0F 3C 0B\n2: 64", uint8(3), false)
	f.Add("7E8 10 14 49 02 01 41 42 43\n7E8 21 31 32 33 34 35 36 37\n7E8 22 38 39 30 31 32 33 34", uint8(3), true)
	f.Add("84F110410C1AF8E4", uint8(1), true)
	asked := []PID{EngineSpeed, VehicleSpeed, 0x11, 0x03}
	f.Fuzz(func(t *testing.T, text string, link uint8, headers bool) {
		format := Format{Link(link % 5), headers}
		msgs, _ := format.Messages(strings.Split(text, "\n"))
		for _, m := range msgs {
			if len(m.Data) == 0 || len(m.Data) > 4095 && !format.Headers {
				t.Fatalf("message of %d bytes", len(m.Data))
			}
			values, err := Values(m.Data, asked)
			if err == nil && len(values) == 0 {
				t.Fatal("no values and no error")
			}
			for _, v := range values {
				if _, ok := v.Encode(v.V); !ok {
					t.Fatalf("%v does not encode back", v)
				}
			}
			_, _ = DecodeLamp(m.Data)
		}
		_, _ = Info(msgs, VIN)
		_, _ = Info(msgs, CalibrationID)
		_, _ = Info(msgs, CalibrationVerification)
		Guess(strings.Split(text, "\n"))
	})
}
