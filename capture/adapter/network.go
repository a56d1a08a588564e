package adapter

import (
	"errors"
	"fmt"
	"net"
	"os"
	"strings"
	"time"
)

// networkScheme begins the name of a port that is an address on a network: tcp://192.168.0.10:35000.
const networkScheme = "tcp://"

// How long a connection over a network may take to be made, and a command to be taken.
const (
	dialTime  = 4 * time.Second
	writeTime = 2 * time.Second
)

// IsNetwork tells whether the name of a port is an address on a network.
func IsNetwork(name string) bool { return strings.HasPrefix(name, networkScheme) }

// CheckName refuses the name of a port that cannot be meant.
func CheckName(name string) error {
	if !IsNetwork(name) {
		return nil
	}
	host, port, err := net.SplitHostPort(strings.TrimPrefix(name, networkScheme))
	if err != nil || host == "" || port == "" {
		return fmt.Errorf("%q is no address of the form tcp://host:port", name)
	}
	return nil
}

// OpenPort opens a serial port, or a connection to tcp://host:port, where baud means nothing. The error says what to do.
func OpenPort(name string, baud int) (Port, error) {
	if !IsNetwork(name) {
		return OpenSerial(name, baud)
	}
	if err := CheckName(name); err != nil {
		return nil, err
	}
	conn, err := net.DialTimeout("tcp", strings.TrimPrefix(name, networkScheme), dialTime)
	if err != nil {
		return nil, fmt.Errorf("cannot reach %s: check its power, that this machine is in its network, and that no other program holds it (%w)", name, err)
	}
	return &networkPort{conn}, nil
}

// networkPort is a Port on a connection.
type networkPort struct{ net.Conn }

func (p *networkPort) Read(b []byte) (int, error) {
	n, err := p.Conn.Read(b)
	if err != nil && !errors.Is(err, os.ErrDeadlineExceeded) {
		err = asHangup(err)
	}
	return n, err
}

func (p *networkPort) Write(b []byte) (int, error) {
	if err := p.SetWriteDeadline(time.Now().Add(writeTime)); err != nil {
		return 0, asHangup(err)
	}
	n, err := p.Conn.Write(b)
	if err != nil {
		err = asHangup(err)
	}
	return n, err
}
