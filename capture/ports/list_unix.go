//go:build linux || darwin

package ports

import (
	"os"
	"path/filepath"
	"sort"
	"strings"
)

// List returns the ports, sorted by device.
func List() ([]Port, error) { return list("/") }

// list works below a root, so that a test can lay one out. On Linux a port counts when a device stands behind it; the
// dummies that the kernel keeps for old boards do not. On macOS the call-out devices are the ports.
func list(root string) ([]Port, error) {
	byDevice := map[string]Port{}
	entries, err := os.ReadDir(filepath.Join(root, "sys/class/tty"))
	if err != nil && !os.IsNotExist(err) {
		return nil, err
	}
	for _, e := range entries {
		dir := filepath.Join(root, "sys/class/tty", e.Name())
		if device := "/dev/" + e.Name(); isPort(dir, e.Name()) && exists(root, device) {
			byDevice[device] = Port{Path: device, Device: device, Name: product(dir)}
		}
	}
	for _, pattern := range []string{"dev/cu.*", "dev/rfcomm*"} {
		paths, _ := filepath.Glob(filepath.Join(root, pattern))
		for _, p := range paths {
			device := "/dev/" + filepath.Base(p)
			byDevice[device] = Port{Path: device, Device: device, Name: strings.TrimPrefix(filepath.Base(p), "cu.")}
		}
	}
	links, _ := filepath.Glob(filepath.Join(root, "dev/serial/by-id/*"))
	for _, l := range links {
		target, err := os.Readlink(l)
		if err != nil {
			continue
		}
		device := "/dev/" + filepath.Base(target)
		p := byDevice[device]
		p.Device, p.Path = device, "/dev/serial/by-id/"+filepath.Base(l)
		byDevice[device] = p
	}
	out := make([]Port, 0, len(byDevice))
	for _, p := range byDevice {
		out = append(out, p)
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Device < out[j].Device })
	return out, nil
}

func exists(root, path string) bool {
	_, err := os.Stat(filepath.Join(root, path))
	return err == nil
}

// isPort tells whether a device driver stands behind a terminal of /sys/class/tty. A board's own port of type 0 has no chip.
func isPort(dir, name string) bool {
	if _, err := os.Stat(filepath.Join(dir, "device")); err != nil {
		return false
	}
	if strings.HasPrefix(name, "ttyS") {
		kind, err := os.ReadFile(filepath.Join(dir, "type"))
		return err == nil && strings.TrimSpace(string(kind)) != "0"
	}
	return true
}

// product returns what the USB device behind a terminal calls itself: its directory is one of the parents of the port's.
func product(dir string) string {
	at, err := filepath.EvalSymlinks(filepath.Join(dir, "device"))
	if err != nil {
		return ""
	}
	for i := 0; i < 4; i++ {
		if s := read(at, "product"); s != "" {
			return strings.TrimSpace(read(at, "manufacturer") + " " + s)
		}
		at = filepath.Dir(at)
	}
	return ""
}

// read returns the first line of a small file, "" when it is not there. A device names itself as it likes: control characters
// are dropped.
func read(dir, name string) string {
	b, err := os.ReadFile(filepath.Join(dir, name))
	if err != nil {
		return ""
	}
	return strings.Map(func(r rune) rune {
		if r < ' ' || r >= 0x7F && r < 0xA0 {
			return -1
		}
		return r
	}, strings.ToValidUTF8(strings.TrimSpace(string(b)), "?"))
}
