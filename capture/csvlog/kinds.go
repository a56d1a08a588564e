package csvlog

import "bytes"

// kinds are files that are no text, by how they begin (from memory), and what to do about them.
var kinds = []struct {
	at          int
	begins, say string
}{
	{0, "\x1f\x8b", "packed twice: unpack it once"},
	{0, "BZh", "packed with bzip2: unpack it"},
	{0, "\xfd7zXZ", "packed with xz: unpack it"},
	{0, "\x28\xb5\x2f\xfd", "packed with zstd: unpack it"},
	{0, "7z\xbc\xaf\x27\x1c", "a 7z archive: unpack it and name the log in it"},
	{0, "Rar!", "a rar archive: unpack it and name the log in it"},
	{257, "ustar", "a tar archive: unpack it and name the log in it"},
	{0, "PK\x05\x06", "a zip archive without a log in it"},
	{0, "\xd0\xcf\x11\xe0", "a workbook: save the table in it as CSV"},
	{0, "\x89PNG", "a picture: export the log as CSV"},
	{0, "\xff\xd8\xff", "a picture: export the log as CSV"},
	{0, "PAR1", "a table of columns in binary (parquet): export it as CSV"},
	{0, "%PDF", "a PDF: export the log as CSV"},
	{0, "SQLite format 3", "a database: export the log in it as CSV"},
}

// otherKind says what a file is that is no text, "" where that is not known.
func otherKind(start []byte) string {
	for _, k := range kinds {
		if len(start) > k.at && bytes.HasPrefix(start[k.at:], []byte(k.begins)) {
			return k.say
		}
	}
	return ""
}
