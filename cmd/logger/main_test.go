package main

import (
	"flag"
	"os"
	"testing"
)

// asLogger makes the test binary run as the logger.
const asLogger = "FLYWITNESS_TEST_AS_LOGGER"

func TestMain(m *testing.M) {
	if os.Getenv(asLogger) != "" {
		main()
	}
	flag.Parse()
	if err := flag.Set("test.parallel", "8"); err != nil { // they wait for real time more than they compute
		panic(err)
	}
	os.Exit(m.Run())
}
