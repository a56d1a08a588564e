// Package database is the flags by which both programs are told of an InfluxDB.
package database

import (
	"fmt"
	"os"
	"strings"
	"sync"

	"flywitness/capture/influx"
	"flywitness/cmd/internal/cli"

	"github.com/spf13/cobra"
)

// TokenVariable is the environment variable that holds the token where no file does. A flag would show it to
// everybody who lists processes.
const TokenVariable = "FLYWITNESS_INFLUX_TOKEN"

// Flags say which database is meant, and who asks.
type Flags struct {
	url, bucket, org, tokenFile, caFile string

	once   sync.Once
	server *influx.Server
	err    error
}

// Add adds the flags to a command.
func (f *Flags) Add(cmd *cobra.Command) {
	fl := cmd.Flags()
	fl.StringVar(&f.url, "influx", "", "`ADDRESS` of an InfluxDB, such as https://db.example:8086")
	fl.StringVar(&f.bucket, "bucket", "", "`BUCKET` in it; with version 1.8 database/retention")
	fl.StringVar(&f.org, "org", "", "`ORGANISATION` of the bucket; none with version 1.8")
	fl.StringVar(&f.tokenFile, "token-file", "", "`FILE` with the token; else from the environment variable "+TokenVariable)
	fl.StringVar(&f.caFile, "ca-file", "", "`FILE` of certificates (PEM) to trust beside the system's, for a shop's own server")
	cli.Group(cmd, "Logs in a database", "influx", "bucket", "org", "token-file", "ca-file")
}

// Given tells whether a database was named.
func (f *Flags) Given() bool { return f.url != "" }

// Check refuses flags of a database that is not named.
func (f *Flags) Check() error {
	if f.url == "" && (f.bucket != "" || f.org != "" || f.tokenFile != "" || f.caFile != "") {
		return cli.Usagef("--bucket, --org, --token-file and --ca-file go with --influx, the address of the database")
	}
	if f.url != "" && f.bucket == "" {
		return cli.Usagef("--influx needs --bucket, the bucket in the database")
	}
	return nil
}

// Server returns the database, made at the first call.
func (f *Flags) Server() (*influx.Server, error) {
	f.once.Do(func() { f.server, f.err = f.open() })
	return f.server, f.err
}

func (f *Flags) open() (*influx.Server, error) {
	if f.url == "" {
		return nil, cli.Usagef("which database? name it with --influx URL --bucket B")
	}
	if err := f.Check(); err != nil {
		return nil, err
	}
	token, err := f.token()
	if err != nil {
		return nil, err
	}
	return influx.New(influx.Options{URL: f.url, Bucket: f.bucket, Org: f.org, Token: token, CAFile: f.caFile})
}

func (f *Flags) token() (string, error) {
	if f.tokenFile == "" {
		return strings.TrimSpace(os.Getenv(TokenVariable)), nil
	}
	data, err := os.ReadFile(f.tokenFile)
	if err != nil {
		return "", fmt.Errorf("cannot read the token: %w", err)
	}
	token := strings.TrimSpace(string(data))
	if token == "" {
		return "", fmt.Errorf("%s is empty: it should hold the token of the database, with version 1.8 user:password",
			f.tokenFile)
	}
	return token, nil
}
