//go:build linux || darwin

package ports

import (
	"os"
	"path/filepath"
	"testing"
)

// lay makes files and links below a root.
func lay(t *testing.T, root string, files, links map[string]string) {
	t.Helper()
	for path, text := range files {
		p := filepath.Join(root, path)
		if err := os.MkdirAll(filepath.Dir(p), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(p, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for path, target := range links {
		p := filepath.Join(root, path)
		if err := os.MkdirAll(filepath.Dir(p), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.Symlink(target, p); err != nil {
			t.Fatal(err)
		}
	}
}

// The layout of sysfs and /dev/serial as Linux has it (from memory).
func TestList(t *testing.T) {
	root := t.TempDir()
	lay(t, root, map[string]string{
		"dev/ttyUSB0": "", "dev/ttyACM0": "", "dev/ttyS0": "", "dev/ttyS1": "", "dev/tty1": "", "dev/rfcomm0": "",
		"sys/devices/usb1/1-2/product": "Diagnostic\x1b[31m adapter\n", "sys/devices/usb1/1-2/manufacturer": "Example\n",
		"sys/devices/usb1/1-2/1-2:1.0/ttyUSB0/x": "",
		"sys/devices/usb1/1-3/product":           "Position receiver\n", "sys/devices/usb1/1-3/1-3:1.0/x": "",
		"sys/devices/serial8250/x": "", "sys/class/tty/ttyS0/type": "4\n", "sys/class/tty/ttyS1/type": "0\n", "sys/class/tty/tty1/x": "",
		"sys/class/tty/ttyUSB0/x": "", "sys/class/tty/ttyACM0/x": "",
	}, map[string]string{
		"sys/class/tty/ttyUSB0/device": "../../../devices/usb1/1-2/1-2:1.0/ttyUSB0", "sys/class/tty/ttyACM0/device": "../../../devices/usb1/1-3/1-3:1.0",
		"sys/class/tty/ttyS0/device": "../../../devices/serial8250", "sys/class/tty/ttyS1/device": "../../../devices/serial8250",
		"dev/serial/by-id/usb-Example_adapter-port0": "../../ttyUSB0",
	})
	got, err := list(root)
	if err != nil {
		t.Fatal(err)
	}
	want := []Port{
		{"/dev/rfcomm0", "/dev/rfcomm0", "rfcomm0"},
		{"/dev/ttyACM0", "/dev/ttyACM0", "Position receiver"},
		{"/dev/ttyS0", "/dev/ttyS0", ""},
		{"/dev/serial/by-id/usb-Example_adapter-port0", "/dev/ttyUSB0", "Example Diagnostic[31m adapter"},
	}
	if len(got) != len(want) {
		t.Fatalf("%+v", got)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("%+v, want %+v", got[i], want[i])
		}
	}
	if got, err = list(t.TempDir()); err != nil || len(got) != 0 {
		t.Errorf("an empty machine: %v, %v", got, err)
	}
}
