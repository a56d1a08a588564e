package main

import (
	"os"

	"flywitness/sim"
)

func main() {
	f, _ := os.Create(os.Args[1])
	if err := sim.WriteDay(f, 24, 1); err != nil {
		panic(err)
	}
	f.Close()
}
