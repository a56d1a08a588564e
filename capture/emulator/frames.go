package emulator

import "fmt"

// canLines cuts a message into ISO 15765-2 frames (from memory) and prints them: with identifier and length bytes where headers are on,
// else as the bytes alone or as numbered lines.
func canLines(id string, data []byte, headers bool) []string {
	if len(data) <= 7 {
		if !headers {
			return []string{fmt.Sprintf("% X", data)}
		}
		return []string{fmt.Sprintf("%s %02X % X", id, len(data), data)}
	}
	var lines []string
	if headers {
		lines = append(lines, fmt.Sprintf("%s %02X %02X % X", id, 0x10|len(data)>>8, len(data)&0xFF, data[:6]))
	} else {
		lines = append(lines, fmt.Sprintf("%03X", len(data)), fmt.Sprintf("0: % X", data[:6]))
	}
	for n, rest := 1, data[6:]; len(rest) > 0; n++ {
		frame := make([]byte, 7) // padded with 00
		rest = rest[copy(frame, rest):]
		if headers {
			lines = append(lines, fmt.Sprintf("%s %02X % X", id, 0x20|n&0xF, frame))
		} else {
			lines = append(lines, fmt.Sprintf("%X: % X", n&0xF, frame))
		}
	}
	return lines
}

// lineMessages prints a message of a K-line (ISO 14230-2, from memory): format, target, source, data, sum. Service 09
// comes in numbered pieces of four bytes, the first filled up with 00.
func lineMessages(data []byte, headers bool) []string {
	pieces := [][]byte{data}
	if len(data) > 7 && data[0] == 0x49 {
		pieces = nil
		payload := data[3:]
		if short := len(payload) % 4; short != 0 {
			payload = append(make([]byte, 4-short), payload...)
		}
		for n := 1; len(payload) > 0; n++ {
			pieces = append(pieces, append([]byte{data[0], data[1], byte(n)}, payload[:4]...))
			payload = payload[4:]
		}
	}
	var lines []string
	for _, p := range pieces {
		if headers {
			p = append([]byte{0x80 | byte(len(p)), 0xF1, 0x10}, p...)
			var sum byte
			for _, x := range p {
				sum += x
			}
			p = append(p, sum)
		}
		lines = append(lines, fmt.Sprintf("% X", p))
	}
	return lines
}
