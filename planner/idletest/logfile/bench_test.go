package logfile

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"testing"

	"daytank/planner/idletest"
)

// bigLog writes a log of 1.5 million rows and 11 columns, about 100 MB.
func bigLog(b *testing.B) (path string, size int64) {
	b.Helper()
	path = filepath.Join(b.TempDir(), "big.csv")
	file, err := os.Create(path)
	if err != nil {
		b.Fatal(err)
	}
	w := bufio.NewWriterSize(file, 1<<20)
	w.WriteString("run_time_s,speed_rpm,load_pct,coolant_degC,corr1_mm3_st,corr2_mm3_st,corr3_mm3_st,corr4_mm3_st,corr5_mm3_st,corr6_mm3_st,rail_pressure_kPa\n")
	noise := rand.New(rand.NewPCG(1, 2))
	var line []byte
	for i := range 1500000 {
		line = strconv.AppendFloat(line[:0], float64(i)*0.4, 'f', 2, 64)
		for _, c := range []struct {
			mean, sd float64
			digits   int
		}{{780, 4, 2}, {19, 0.5, 1}, {88, 0.3, 1}, {1.9, 0.3, 2}, {-2.2, 0.3, 2}, {0.6, 0.3, 2}, {2.7, 0.3, 2}, {-1.3, 0.3, 2}, {-1.1, 0.3, 2}, {30000, 50, 0}} {
			line = strconv.AppendFloat(append(line, ','), c.mean+c.sd*noise.NormFloat64(), 'f', c.digits, 64)
		}
		w.Write(append(line, '\n'))
	}
	if err := w.Flush(); err != nil {
		b.Fatal(err)
	}
	info, err := file.Stat()
	if err != nil {
		b.Fatal(err)
	}
	if err := file.Close(); err != nil {
		b.Fatal(err)
	}
	return path, info.Size()
}

// BenchmarkRead reads and reduces a log of 100 MB; beside it the plainest loop of
// encoding/csv over the same file, which only turns cells into numbers.
func BenchmarkRead(b *testing.B) {
	path, size := bigLog(b)
	b.Run("logfile", func(b *testing.B) {
		b.SetBytes(size)
		var most uint64
		for b.Loop() {
			file, err := os.Open(path)
			if err != nil {
				b.Fatal(err)
			}
			log, err := read(file, Mapping{})
			if err != nil {
				b.Fatal(err)
			}
			test := idletest.Test{Phase: idletest.Before, State: idletest.Hot, Measure: idletest.Corrections, Unit: idletest.CubicMillimetres, Samples: log.Samples}
			if r := idletest.Reduce(test, idletest.Rules{}); len(r.Cylinders) != 6 {
				b.Fatalf("%d cylinders, %v", len(r.Cylinders), r.Reasons)
			}
			file.Close()
			var m runtime.MemStats
			runtime.ReadMemStats(&m)
			most = max(most, m.HeapSys)
		}
		b.ReportMetric(float64(most)/(1<<20), "heap-MiB")
	})
	b.Run("encoding-csv", func(b *testing.B) {
		b.SetBytes(size)
		for b.Loop() {
			if err := plainLoop(path); err != nil {
				b.Fatal(err)
			}
		}
	})
}

func plainLoop(path string) error {
	file, err := os.Open(path)
	if err != nil {
		return err
	}
	defer file.Close()
	r := csv.NewReader(bufio.NewReaderSize(file, 1<<20))
	r.ReuseRecord = true
	if _, err := r.Read(); err != nil {
		return err
	}
	sums := [11]float64{}
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		for i, cell := range row {
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				return fmt.Errorf("column %d: %w", i, err)
			}
			sums[i] += v
		}
	}
}
