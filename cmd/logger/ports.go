package main

import (
	"fmt"

	"flywitness/capture/ports"
	"flywitness/cmd/internal/cli"

	"github.com/spf13/cobra"
)

func newPorts() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:     "ports",
		Short:   "Lists serial ports",
		Long:    `ports lists the serial ports of this machine: what to give as --port, and what the device calls itself.`,
		Example: `  $ fw-logger ports`,
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			list, err := ports.List()
			if err != nil {
				return err
			}
			if asJSON {
				return cli.WriteJSON(cmd.OutOrStdout(), portsResult(list))
			}
			if len(list) == 0 {
				fmt.Fprintln(cmd.ErrOrStderr(), "No serial port is there. Plug the adapter in; one that works by radio must be paired and bound first.")
				return nil
			}
			for _, p := range list {
				name := p.Name
				if name == "" {
					name = "unnamed"
				}
				line := fmt.Sprintf("%s  %s", p.Path, name)
				if p.Path != p.Device {
					line += fmt.Sprintf(" (now %s)", p.Device)
				}
				fmt.Fprintln(cmd.OutOrStdout(), line)
			}
			return nil
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the result as JSON")
	return cmd
}

// portJSON is a port in the result of ports --json.
type portJSON struct {
	Path   string `json:"path"`
	Device string `json:"device"`
	Name   string `json:"name"`
}

func portsResult(list []ports.Port) any {
	out := make([]portJSON, 0, len(list))
	for _, p := range list {
		out = append(out, portJSON(p))
	}
	return map[string]any{"tool": tool(), "command": "ports", "ports": out}
}

// tool is how the program names itself in results.
func tool() map[string]string { return map[string]string{"name": "logger", "version": cli.Version} }
