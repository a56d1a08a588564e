package emulator

import (
	"os"

	"golang.org/x/sys/unix"
)

// lineSpeed returns the baud rate that a terminal is set to, 0 when it is not one of the usual.
func lineSpeed(f *os.File) int {
	t, err := unix.IoctlGetTermios(int(f.Fd()), unix.TCGETS)
	if err != nil {
		return 0
	}
	return map[uint32]int{
		unix.B9600: 9600, unix.B19200: 19200, unix.B38400: 38400, unix.B57600: 57600, unix.B115200: 115200, unix.B230400: 230400, unix.B500000: 500000,
	}[t.Cflag&unix.CBAUD]
}
