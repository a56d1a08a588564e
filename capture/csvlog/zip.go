package csvlog

import (
	"archive/zip"
	"bufio"
	"bytes"
	"fmt"
	"io"
	"path"
	"strings"
)

const maxZip = 512 << 20 // bytes of an archive: it is held in memory

// unzip returns the text of the one file in an archive.
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
		return nil, fmt.Errorf("%s is a workbook or zip archive that cannot be opened (%w): save the table in it as CSV", name, err)
	}
	var logs []*zip.File
	for _, f := range z.File {
		if f.Name == "[Content_Types].xml" {
			return nil, fmt.Errorf("%s is a workbook: save the table in it as CSV", name)
		}
		if !strings.HasSuffix(f.Name, "/") && !strings.HasPrefix(f.Name, "__MACOSX") && !strings.HasPrefix(path.Base(f.Name), ".") {
			logs = append(logs, f)
		}
	}
	if len(logs) != 1 {
		return nil, fmt.Errorf("%s is a zip archive of %d files, want one log: unpack it and name the logs", name, len(logs))
	}
	f, err := logs[0].Open()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	text := bufio.NewReaderSize(&limitReader{r: f, left: maxText}, buffered)
	if start, _ := text.Peek(2); string(start) == "PK" {
		return nil, fmt.Errorf("%s is a zip archive within another: unpack it", name)
	}
	return Text(text, name)
}
