//go:build linux

package main

import (
	"os"
	"testing"
)

// asLogger makes the test binary run as the logger.
const asLogger = "FLYWITNESS_TEST_AS_LOGGER"

func TestMain(m *testing.M) {
	if os.Getenv(asLogger) != "" {
		main()
	}
	os.Exit(m.Run())
}
