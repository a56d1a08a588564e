package emulator

import (
	"os"

	"golang.org/x/sys/unix"
)

// lineSpeed returns the baud rate that a terminal is set to.
func lineSpeed(f *os.File) int {
	t, err := unix.IoctlGetTermios(int(f.Fd()), unix.TIOCGETA)
	if err != nil {
		return 0
	}
	return int(t.Ospeed)
}
