//go:build linux || darwin

package adapter

import (
	"errors"
	"fmt"
	"os"
	"os/user"
	"strconv"
	"syscall"

	"golang.org/x/sys/unix"
)

// lockPort takes the advisory lock of the device, as programs that use serial ports do among themselves, looks whether it is a
// serial port at all, and asks its driver not to sit on bytes.
func lockPort(name string) (unlock func(), err error) {
	f, err := os.OpenFile(name, os.O_RDWR|unix.O_NOCTTY|unix.O_NONBLOCK, 0)
	if err != nil {
		return nil, err
	}
	if err := checkPort(f); err != nil {
		f.Close()
		return nil, err
	}
	return func() { f.Close() }, nil
}

func checkPort(f *os.File) error {
	raw, err := f.SyscallConn()
	if err != nil {
		return err
	}
	var inner error
	err = raw.Control(func(fd uintptr) {
		if _, inner = unix.IoctlGetWinsize(int(fd), unix.TIOCGWINSZ); inner != nil {
			return
		}
		if inner = unix.Flock(int(fd), unix.LOCK_EX|unix.LOCK_NB); errors.Is(inner, unix.EWOULDBLOCK) {
			inner = errBusy
		}
		if inner == nil {
			lowLatency(int(fd))
		}
	})
	return errors.Join(err, inner)
}

func isBusy(err error) bool { return errors.Is(err, syscall.EBUSY) }

func isNoTerminal(err error) bool {
	return errors.Is(err, syscall.ENOTTY) || errors.Is(err, syscall.EINVAL) || errors.Is(err, syscall.EISDIR) || errors.Is(err, syscall.ENXIO)
}

// permissionHint names the group that may use the port.
func permissionHint(name string) string {
	var st unix.Stat_t
	if err := unix.Stat(name, &st); err != nil {
		return "ask who runs this machine for access to serial ports"
	}
	group := strconv.Itoa(int(st.Gid))
	if g, err := user.LookupGroupId(group); err == nil {
		group = g.Name
	}
	if st.Mode&0o060 != 0o060 {
		return fmt.Sprintf("group %s may not use it either; as root: chmod g+rw %s", group, name)
	}
	return fmt.Sprintf("it belongs to group %s; run `sudo usermod -aG %s $USER`, then log out and in", group, group)
}
