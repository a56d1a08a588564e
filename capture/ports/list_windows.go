package ports

import (
	"errors"
	"sort"

	"golang.org/x/sys/windows/registry"
)

// List returns the ports, sorted by device.
func List() ([]Port, error) {
	key, err := registry.OpenKey(registry.LOCAL_MACHINE, `HARDWARE\DEVICEMAP\SERIALCOMM`, registry.QUERY_VALUE)
	if errors.Is(err, registry.ErrNotExist) {
		return nil, nil // no port was ever there
	}
	if err != nil {
		return nil, err
	}
	defer key.Close()
	names, err := key.ReadValueNames(0)
	if err != nil {
		return nil, err
	}
	var out []Port
	for _, n := range names {
		if device, _, err := key.GetStringValue(n); err == nil {
			out = append(out, Port{Path: device, Device: device, Name: n})
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Device < out[j].Device })
	return out, nil
}
