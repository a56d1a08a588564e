// Package ports lists the serial ports of a machine under names that a person recognises.
package ports

// Port is a serial port. Path is what to open: one that stays the same when the adapter is plugged in elsewhere, where there
// is one. Device is the name the system gives it today, Name what the adapter's own chip calls itself, "" when it is unknown.
type Port struct {
	Path, Device, Name string
}
