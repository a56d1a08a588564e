package main

import (
	"os"
	"runtime"
	"runtime/pprof"
	"runtime/trace"
)

func init() {
	if p := os.Getenv("CPUPROF"); p != "" {
		f, _ := os.Create(p)
		runtime.SetCPUProfileRate(500)
		pprof.StartCPUProfile(f)
		stopProf = func() { pprof.StopCPUProfile(); f.Close() }
	}
	if p := os.Getenv("TRACE"); p != "" {
		f, _ := os.Create(p)
		trace.Start(f)
		stopProf = func() { trace.Stop(); f.Close() }
	}
}

var stopProf = func() {}
