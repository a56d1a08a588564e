//go:build !linux && !darwin

package adapter

import "strings"

// lockPort has nothing to do: a serial port of Windows has one user at a time.
func lockPort(string) (unlock func(), err error) { return func() {}, nil }

func isBusy(err error) bool { return strings.Contains(err.Error(), "Access is denied") }

func isNoTerminal(error) bool { return false }

func permissionHint(string) string { return "ask who runs this machine for access to serial ports" }
