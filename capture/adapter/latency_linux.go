package adapter

import (
	"unsafe"

	"golang.org/x/sys/unix"
)

// serialStruct is struct serial_struct of the Linux header linux/serial.h (from memory).
type serialStruct struct {
	kind, line     int32
	port           uint32
	irq, flags     int32
	fifo, divisor  int32
	baudBase       int32
	closeDelay     uint16
	ioType, unused byte
	hub            int32
	closing, other uint16
	memory         uintptr
	shift          uint16
	portHigh       uint32
	mapped         uintptr
	_              [16]byte // room, should the kernel's be longer
}

// asyncLowLatency asks the driver to hand bytes on at once; some USB chips otherwise keep them for up to 16 ms, which would be in
// every reply time.
const asyncLowLatency = 1 << 13

// lowLatency sets the flag where the driver has it. Drivers that have not refuse, and nothing is lost.
func lowLatency(fd int) {
	var s serialStruct
	if _, _, errno := unix.Syscall(unix.SYS_IOCTL, uintptr(fd), unix.TIOCGSERIAL, uintptr(unsafe.Pointer(&s))); errno != 0 {
		return
	}
	s.flags |= asyncLowLatency
	_, _, _ = unix.Syscall(unix.SYS_IOCTL, uintptr(fd), unix.TIOCSSERIAL, uintptr(unsafe.Pointer(&s)))
}
