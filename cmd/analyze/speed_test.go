//go:build unix

package main

import (
	"context"
	"encoding/csv"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"syscall"
	"testing"

	"flywitness/sim"
)

// mostOfCSV is how many times the processor time that encoding/csv and strconv take to read a drive of two hours the whole way
// from file to verdict may take: a third more than was measured.
const mostOfCSV = 2.5

// BenchmarkSlipBesideCSV judges two hours of driving and reads them with the standard library, by turns, so that what else the machine does
// weighs on both alike. It fails where judging takes too many times as long.
func BenchmarkSlipBesideCSV(b *testing.B) {
	file := filepath.Join(b.TempDir(), "drive.csv")
	writeDay(b, file, 2)
	var judged, read float64
	for b.Loop() {
		judged += processorTime(b, func() {
			args := []string{"slip", "--gearbox", "manual", "--json", file}
			if status := analyze(context.Background(), args, nil, io.Discard, os.Stderr); status != 0 {
				b.Fatalf("exit status %d", status)
			}
		})
		read += processorTime(b, func() {
			if err := loadByHand(file); err != nil {
				b.Fatal(err)
			}
		})
	}
	b.ReportMetric(judged/read, "of_csv")
	if judged > mostOfCSV*read {
		b.Errorf("judging takes %.2f times as long as reading with encoding/csv, want at most %g", judged/read, mostOfCSV)
	}
}

// processorTime is what do takes of all cores, s.
func processorTime(b *testing.B, do func()) float64 {
	now := func() float64 {
		var use syscall.Rusage
		if err := syscall.Getrusage(syscall.RUSAGE_SELF, &use); err != nil {
			b.Fatal(err)
		}
		return float64(use.Utime.Sec+use.Stime.Sec) + float64(use.Utime.Usec+use.Stime.Usec)/1e6
	}
	began := now()
	do()
	return now() - began
}

func writeDay(t testing.TB, path string, hours int) {
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := sim.WriteDay(f, hours, 1); err != nil {
		t.Fatal(err)
	}
}

// loadByHand is what the standard library offers: each cell of each record through strconv.
func loadByHand(file string) error {
	f, err := os.Open(file)
	if err != nil {
		return err
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.ReuseRecord = true
	head, err := r.Read()
	if err != nil {
		return err
	}
	columns := make([][]float64, len(head))
	for {
		record, err := r.Read()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		for i, cell := range record {
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				return err
			}
			columns[i] = append(columns[i], v)
		}
	}
}
