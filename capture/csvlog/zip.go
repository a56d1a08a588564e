package csvlog

import (
	"archive/zip"
	"bufio"
	"bytes"
	"compress/flate"
	"encoding/binary"
	"fmt"
	"io"
	"path"
	"slices"
	"strings"
)

const maxZip = 512 << 20 // bytes of an archive: it is held in memory

// SeveralError is that of an archive of more than one log, which Text cannot read as one text.
type SeveralError struct {
	name  string
	Files []*zip.File
}

func (e *SeveralError) Error() string {
	return fmt.Sprintf("%s is a zip archive of %d files, want one log: unpack it and name the logs", e.name, len(e.Files))
}

// beside are endings of files that lie in an archive beside a log.
var beside = []string{".md", ".pdf", ".html", ".htm", ".json", ".toml", ".xml", ".ini", ".jpg", ".jpeg", ".png", ".gpx", ".kml"}

// unzip returns the text of the one log in an archive.
func unzip(in io.Reader, name string) (*bufio.Reader, error) {
	all, err := io.ReadAll(io.LimitReader(in, maxZip+1))
	if err != nil {
		return nil, fmt.Errorf("%s: cannot read: %w", name, err)
	}
	if len(all) > maxZip {
		return nil, fmt.Errorf("%s is a zip archive of more than %d MB: unpack it", name, maxZip>>20)
	}
	z, err := zip.NewReader(bytes.NewReader(all), int64(len(all)))
	if err != nil {
		if first := firstOfBroken(all); first != nil {
			return Text(first, name)
		}
		return nil, fmt.Errorf("%s is a workbook or zip archive that cannot be opened (%w): save the table in it as CSV", name, err)
	}
	logs := slices.Clone(z.File)
	logs = slices.DeleteFunc(logs, func(f *zip.File) bool {
		low := strings.ToLower(path.Base(f.Name))
		return strings.HasSuffix(f.Name, "/") || strings.HasPrefix(f.Name, "__MACOSX") || strings.HasPrefix(low, ".") || strings.HasPrefix(low, "readme") ||
			slices.Contains(beside, path.Ext(low))
	})
	switch {
	case slices.ContainsFunc(z.File, func(f *zip.File) bool { return f.Name == "[Content_Types].xml" || f.Name == "content.xml" }):
		return nil, fmt.Errorf("%s is a workbook: save the table in it as CSV", name)
	case len(logs) == 0:
		return nil, fmt.Errorf("%s is a zip archive without a log in it", name)
	case len(logs) > 1:
		return nil, &SeveralError{name, logs}
	}
	return Member(logs[0], name)
}

// Member returns the text of a file in an archive.
func Member(f *zip.File, name string) (*bufio.Reader, error) {
	in, err := f.Open()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	text := bufio.NewReaderSize(&limitReader{r: wholeOrBroken{r: in}, left: maxText}, buffered)
	if start, _ := text.Peek(2); string(start) == "PK" {
		return nil, fmt.Errorf("%s is a zip archive within another: unpack it", name)
	}
	return Text(text, name)
}

// firstOfBroken returns what is there of the first file in an archive whose end, and with it its list of files, is missing; nil where that is
// not packed as usual. The layout of a local file header is that of the zip format (from memory).
func firstOfBroken(all []byte) io.Reader {
	const header, deflated = 30, 8
	if len(all) < header || binary.LittleEndian.Uint16(all[8:]) != deflated {
		return nil
	}
	start := header + int(binary.LittleEndian.Uint16(all[26:])) + int(binary.LittleEndian.Uint16(all[28:]))
	if start >= len(all) {
		return nil
	}
	return wholeOrBroken{r: &limitReader{r: flate.NewReader(bytes.NewReader(all[start:])), left: maxText}, cut: true}
}
