//go:build !linux && !darwin

package emulator

import (
	"context"
	"errors"
	"math/rand/v2"
)

// Serve needs pseudo-terminals, which this system does not have.
func Serve(context.Context, *Device, string, *rand.Rand, func()) error {
	return errors.New("there are no pseudo-terminals here: run the emulator on Linux or macOS")
}
