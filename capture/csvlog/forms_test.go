package csvlog

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/numbers"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/japanese"
	"golang.org/x/text/encoding/traditionalchinese"
)

// form is a table as it was met somewhere (common practice, no source), written anew with our own numbers: 35 rpm per km/h, 30 km/h rising by
// 0.5 km/h a second, ten rows a second, 60 rows.
type form struct {
	file  string
	opt   Options
	also  []string // channels beside engine speed and road speed
	codes []finding.Code
	torn  int    // lines left out
	fails string // what the error names
}

var forms = []form{
	{file: "elapsed_days.csv"},
	{file: "ts_13_digits.csv"},
	{file: "epoch_unnamed.csv", codes: []finding.Code{finding.AssumedTime}},
	{file: "no_time.csv", fails: "--rate"},
	{file: "no_time.csv", opt: Options{Rate: 10}},
	{file: "ts_13_digits.csv", opt: Options{Rate: 10}, codes: []finding.Code{finding.TimeNotUsed}},
	{file: "no_time.csv", opt: Options{Rate: -1}, fails: "between 0.1 and 1000"},
	{file: "variance.csv"},
	{file: "only_variance.csv", fails: "no column for road speed"},
	{file: "two_receivers.csv", codes: []finding.Code{finding.ColumnLeftOut}},
	{file: "dead_receiver.csv", codes: []finding.Code{finding.DeadSpeed}},
	{file: "rounded_by_spreadsheet.csv", fails: "spreadsheet"},
	{file: "broken_degrees.csv", also: []string{drive.CoolantTemp, drive.OilTemp, drive.IntakeTemp}},
	{file: "repeated_headings.csv", codes: []finding.Code{finding.RepeatedHeadings}},
	{file: "batches.csv", codes: []finding.Code{finding.CoarseStamps}},
	{file: "utf16.csv"},
	{file: "quoted_newline.csv"},
	{file: "month_first.csv"},
	{file: "day_first.csv"},
	{file: "thousands.csv"},
	{file: "packed.zip"},
	{file: "stamp_one_number.csv"},
	{file: "stamp_iso_basic.csv"},
	{file: "stamp_year_last.csv"},
	{file: "stamp_dots.csv"},
	{file: "stamp_unit_letters.csv"},
	{file: "stamp_iso_duration.csv"},
	{file: "stamp_month_in_words.csv"},
	{file: "stamp_zone_name.csv"},
	{file: "stamp_pm.csv"},
	{file: "counts_of_10ms.csv"},
	{file: "ticks_from_year_1.csv"},
	{file: "ticks_from_1601.csv"},
	{file: "clock_digits.csv", codes: []finding.Code{finding.ClockDigits}},
	{file: "turn_of_an_hour.csv", codes: []finding.Code{finding.ClockTurns}},
	{file: "turn_of_16_bits.csv", codes: []finding.Code{finding.ClockTurns}},
	{file: "split_clock.csv"},
	{file: "clock_and_millis.csv"},
	{file: "two_clocks.csv"},
	{file: "colon_millis.csv"},
	{file: "no_break_blanks.csv"},
	{file: "minus_sign.csv", also: []string{drive.AmbientTemp}},
	{file: "formulas.csv"},
	{file: "single_quotes.csv"},
	{file: "long_units.csv"},
	{file: "nulls.csv", also: []string{drive.CoolantTemp}},
	{file: "same_name_twice.csv", fails: "=#3"},
	{file: "same_name_twice.csv", opt: Options{Map: []string{"vehicle_speed_kmh=#3"}}},
	{file: "rad_per_s.csv"},
	{file: "markdown.csv"},
	{file: "units_below.csv"},
	{file: "row_numbers.csv"},
	{file: "with_readme.zip"},
	{file: "hex.csv", fails: "0x1068"},
	{file: "no_headings.csv", fails: "Time (s),Engine RPM"},
	{file: "lines.json", codes: []finding.Code{finding.AssumedUnit}},
	{file: "words_ru_8_bit.csv", codes: []finding.Code{finding.AssumedUnit}},
	{file: "aligned.txt"},
	{file: "hundreds_of_rpm.csv"},
	{file: "thousands_unsaid.csv", fails: "engine_speed_rpm=RPM:x1000 rpm"},
	{file: "thousands_unsaid.csv", opt: Options{Map: []string{"engine_speed_rpm=RPM:x1000 rpm"}}},
	{file: "date_once.csv"},
	{file: "another_table_below.csv", codes: []finding.Code{finding.AnotherTable}},
	{file: "same_columns_in_another_order_below.csv", codes: []finding.Code{finding.AnotherTable}},
	{file: "transposed.csv", fails: "transpose"},
	{file: "carets.csv", fails: "'^'"},
	{file: "colons.csv", fails: "':'"},
	{file: "only_headings.csv", fails: "no row of numbers"},
	{file: "numbers_above.csv"},
	{file: "one_value_a_row_short_names.csv", codes: []finding.Code{finding.AssumedUnit}},
	{file: "one_value_a_row_raw.csv"},
	{file: "unit_for_heading.csv"},
	{file: "comma_and_tab.csv"},
	{file: "pieces_with_marks.csv", codes: []finding.Code{finding.SkippedLines, finding.RepeatedHeadings}, torn: 1},
	{file: "units_cut_off.csv", also: []string{drive.Throttle}},
	{file: "unit_in_each_cell.csv", codes: []finding.Code{finding.AssumedUnit}},
	{file: "rows_in_quotes.csv", fails: "quotes"},
	{file: "two_delimiters.csv", fails: "same sign"},
	{file: "comment_mark.txt"},
	{file: "units_with_factors.csv"},
	{file: "unit_of_another_trade.csv", fails: `"vehicle_speed_kmh=#3:km/h"`},
	{file: "clock_by_its_unit.csv", also: []string{drive.Throttle}, codes: []finding.Code{finding.DoubtfulColumn, finding.DoubtfulColumn, finding.DoubtfulColumn, finding.AssumedTime}},
	{file: "words_cut_short.csv", codes: []finding.Code{finding.DoubtfulColumn, finding.DoubtfulColumn}},
	{file: "clocks_named_after_columns.csv"},
	{file: "averages_below.csv", codes: []finding.Code{finding.SummaryRows}},
	{file: "wider_table_below.csv", also: []string{drive.Throttle}, codes: []finding.Code{finding.TableAbove}},
	{file: "blanks_and_decimal_commas.txt"},
	{file: "receiver_in_metres.csv", also: []string{drive.GPSSpeed}, codes: []finding.Code{finding.UnitFromCar}},
	{file: "hours_and_minutes.csv", fails: "hours and minutes"},
	{file: "hex_without_mark.csv", fails: "base 16"},
	{file: "sorted_as_text.csv", codes: []finding.Code{finding.OutOfOrder}},
	{file: "thousands_a_minute.csv"},
	{file: "zero_before_the_clock_was_set.csv", codes: []finding.Code{finding.StrayTimes}},
	{file: "power_lost.csv", codes: []finding.Code{finding.SkippedLines}, torn: 1},
	{file: "utf32.csv"},
	{file: "throttle_as_share.csv", also: []string{drive.Throttle}, codes: []finding.Code{finding.ShareAsPercent}},
	{file: "unnamed_time.csv", codes: []finding.Code{finding.AssumedTime}},
	{file: "clock_set_back.csv", codes: []finding.Code{finding.ClockSetBack}},
	{file: "room_made_beforehand.csv", codes: []finding.Code{finding.TornLine}, torn: 1},
	{file: "words_zh.csv", codes: []finding.Code{finding.AssumedUnit}},
	{file: "words_ja.csv", codes: []finding.Code{finding.AssumedUnit}},
	{file: "words_ko.csv", codes: []finding.Code{finding.AssumedUnit}},
	{file: "words_tr.csv", codes: []finding.Code{finding.AssumedUnit}},
	{file: "words_hu.csv", codes: []finding.Code{finding.AssumedUnit}},
	{file: "words_ro.csv", codes: []finding.Code{finding.AssumedUnit}},
	{file: "words_el.csv", codes: []finding.Code{finding.AssumedUnit}},
	{file: "words_uk.csv", codes: []finding.Code{finding.AssumedUnit}},
	{file: "words_bg.csv", codes: []finding.Code{finding.AssumedUnit}},
	{file: "words_hr.csv", codes: []finding.Code{finding.AssumedUnit}},
	{file: "words_sk.csv", codes: []finding.Code{finding.AssumedUnit}},
	{file: "words_cz.csv", also: []string{drive.Throttle}},
	{file: "words_es.csv", also: []string{drive.Throttle}},
	{file: "words_fr.csv", also: []string{drive.Throttle}},
	{file: "words_it.csv", also: []string{drive.Throttle}},
	{file: "words_nl.csv", also: []string{drive.Throttle}},
	{file: "words_pl.csv", also: []string{drive.Throttle}},
	{file: "words_pt.csv", also: []string{drive.Throttle}},
	{file: "words_sv.csv", also: []string{drive.Throttle}},
	{file: "milliseconds_without_zeros.csv"},
	{file: "milliseconds_without_zeros_as_a_number.csv"},
	{file: "seconds_and_microseconds.csv"},
	{file: "seconds_of_day.csv", codes: []finding.Code{finding.ClockTurns}},
	{file: "stamp_cjk.csv"},
	{file: "stamp_half_first.csv"},
	{file: "stamp_underscores.csv"},
	{file: "unit_behind_a_slash.csv"},
	{file: "unit_behind_in.csv"},
	{file: "two_units_in_a_heading.csv", fails: "km/h and mph"},
	{file: "gauge_pressure.csv", also: []string{drive.IntakePressure}, codes: []finding.Code{finding.ColumnLeftOut}},
	{file: "short_first_rows.csv"},
	{file: "returns_alone.csv"},
	{file: "an_empty_twin.csv"},
	{file: "nobody_counts_the_headings.csv", fails: "a heading above each column"},
	{file: "no_headings.csv", opt: Options{Time: "#1:s", Map: []string{"engine_speed_rpm=#2", "vehicle_speed_kmh=#3:km/h"}}},
	{file: "no_headings.csv", opt: Options{Map: []string{"engine_speed_rpm=#2"}}, fails: "no column for road speed"},
	{file: "letters_lost.csv"},
	{file: "words_read_as_another_encoding.csv"},
	{file: "ms_called_s.csv", fails: "--time \"Time (s):ms\""},
	{file: "elapsed_days.csv", opt: Options{Map: []string{"engine_speed_rpm=Speed (km/h)"}}, fails: "no unit of engine_speed_rpm"},
	{file: "rated_speed.csv", fails: "5500 all the time"},
	{file: "one_value_a_row_and_module.csv"},
	{file: "array_of_objects.json"},
	{file: "pairs_in_each_line.log"},
	{file: "pairs_with_bars.txt", codes: []finding.Code{finding.SkippedLines}, torn: 1},
	{file: "pairs_in_cells.csv"},
	{file: "one_value_a_row_impossible.csv", also: []string{drive.Throttle}, codes: []finding.Code{finding.UnreadableCells, finding.AbsurdValues}},
	{file: "another_unit_below.csv", codes: []finding.Code{finding.AnotherTable}},
	{file: "another_row_of_units_below.csv", codes: []finding.Code{finding.RepeatedHeadings, finding.AnotherTable}},
	{file: "units_in_columns.csv"},
	{file: "clocks_of_short_names.csv", also: []string{drive.CoolantTemp}},
	{file: "tenths_of_a_second.csv"},
	{file: "time_in_hex.csv", fails: "base 16"},
	{file: "time_in_marked_hex.csv", fails: "base 16"},
	{file: "clock_set_forward.csv", codes: []finding.Code{finding.ClockSetForward}},
	{file: "objects_in_an_object.json"},
	{file: "columns_in_an_object.json", fails: "JSON"},
	{file: "marks_of_direction.csv"},
	{file: "colours_of_a_terminal.csv"},
	{file: "filled_up_with_zeros.csv"},
	{file: "quotes_of_print.csv"},
	{file: "cut_at_a_length.csv", fails: "end after 13 characters"},
	{file: "rows_on_two_lines.csv", fails: "two lines"},
	{file: "wide_commas.csv", fails: "'，'"},
	{file: "unit_separators.csv", fails: "\\x1f"},
	{file: "letters_for_a_tab.csv", fails: "tabs between them"},
	{file: "stamp_pm_narrow_blank.csv"},
	{file: "stamp_offset_and_zone.csv"},
	{file: "stamp_zone_in_brackets.csv"},
	{file: "stamp_millis_behind_a_blank.csv"},
	{file: "stamp_in_brackets.csv"},
	{file: "stamp_with_a_plus.csv"},
	{file: "stamp_iso_duration_with_days.csv"},
	{file: "stamp_unit_letters_with_ms.csv"},
	{file: "stamp_pictures.csv", fails: "count pictures"},
	{file: "headings_on_two_rows.csv"},
	{file: "groups_above_headings.csv", codes: []finding.Code{finding.AssumedUnit}},
	{file: "headings_of_many_lines.csv", also: []string{drive.OilTemp, drive.AmbientTemp}},
	{file: "words_before_pairs.log", also: []string{drive.Throttle}},
	{file: "pairs_with_colons.txt"},
	{file: "rate_above.csv", fails: "--rate 10"},
	{file: "rate_above.csv", opt: Options{Rate: 10}},
	{file: "unit_with_a_factor.csv", fails: `"vehicle_speed_kmh=#3:0.1 km/h"`},
	{file: "unit_with_a_factor.csv", opt: Options{Map: []string{"vehicle_speed_kmh=#3:0.1 km/h"}}},
	{file: "least_and_greatest.csv", fails: `--map "engine_speed_rpm=RPM avg"`},
	{file: "least_and_greatest.csv", opt: Options{Map: []string{"engine_speed_rpm=RPM avg"}}},
	{file: "torque_in_nm_unsaid.csv", codes: []finding.Code{finding.ColumnLeftOut}},
	{file: "torque_unsaid.csv", also: []string{drive.EngineTorque}, codes: []finding.Code{finding.TorqueAsShare}},
	{file: "clutch_pedal_in_percent_unsaid.csv", also: []string{drive.ClutchSwitch}, codes: []finding.Code{finding.PedalInPercent}},
	{file: "clutch_pedal_in_volts.csv", codes: []finding.Code{finding.ColumnLeftOut}},
	{file: "pressures_unsaid.csv", also: []string{drive.IntakePressure, drive.BarometricPressure, drive.ModuleVoltage},
		codes: []finding.Code{finding.UnitFromCar, finding.UnitFromCar, finding.UnitFromCar}},
	{file: "pressure_of_no_engine.csv", also: []string{drive.BarometricPressure}, codes: []finding.Code{finding.ColumnLeftOut, finding.UnitFromCar}},
	{file: "kelvin_unsaid.csv", also: []string{drive.CoolantTemp, drive.IntakeTemp}, codes: []finding.Code{finding.UnitFromCar, finding.UnitFromCar}},
	{file: "numbers_for_nothing.csv", also: []string{drive.Throttle, drive.CoolantTemp, drive.EngineLoad, drive.IntakePressure, drive.ClutchSwitch},
		codes: []finding.Code{finding.NoValueMarks, finding.NoValueMarks, finding.AbsurdValues, finding.NoValueMarks, finding.NoValueMarks}},
	{file: "counts_for_a_throttle.csv", codes: []finding.Code{finding.ColumnLeftOut}},
}

func TestForms(t *testing.T) {
	numbers.Only(t)
	for _, f := range forms {
		t.Run(f.file, func(t *testing.T) {
			l, err := readForm(f.file, f.opt)
			if f.fails != "" {
				if err == nil || !strings.Contains(err.Error(), f.fails) {
					t.Fatalf("error %v does not name %q", err, f.fails)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			f.check(t, l)
		})
	}
}

func readForm(file string, opt Options) (*drive.Log, error) {
	in, err := os.Open(filepath.Join("testdata", "forms", file))
	if err != nil {
		return nil, err
	}
	defer in.Close()
	text, err := Text(in, file)
	if err != nil {
		return nil, err
	}
	return Read(text, file, opt)
}

func (f form) check(t *testing.T, l *drive.Log) {
	t.Helper()
	want := append([]string{drive.EngineSpeed, drive.VehicleSpeed}, f.also...)
	var have []string
	for _, c := range l.Channels {
		have = append(have, c.Name)
	}
	slices.Sort(want)
	slices.Sort(have)
	if !slices.Equal(have, want) {
		t.Fatalf("channels %v, want %v", have, want)
	}
	var codes []finding.Code
	for _, w := range l.Warnings {
		codes = append(codes, w.Code)
	}
	if !slices.Equal(codes, f.codes) {
		t.Errorf("it says %v, want %v", l.Warnings, f.codes)
	}
	if l.Skipped != f.torn {
		t.Errorf("%d rows left out", l.Skipped)
	}
	late := 0.0
	if l.StampStep > 0 {
		late = l.StampStep / 2 // of stamps that were spread
	}
	rpm, kmh := l.Channel(drive.EngineSpeed), l.Channel(drive.VehicleSpeed)
	if rpm.Len() != 60 || kmh.Len() != 60 {
		t.Fatalf("%d engine speeds and %d road speeds, want 60 of each", rpm.Len(), kmh.Len())
	}
	for i := range 60 {
		at := float64(i) / 10
		if v := 30 + at/2; math.Abs(rpm.V[i]-35*v) > 1 || math.Abs(kmh.V[i]-v) > 0.1 || math.Abs(rpm.T[i]-rpm.T[0]-at) > 1e-5+late {
			t.Fatalf("row %d: %.3f s, %.1f rpm, %.2f km/h; want %.1f s, %.1f rpm, %.2f km/h", i, rpm.T[i]-rpm.T[0], rpm.V[i], kmh.V[i], at, 35*v, v)
		}
	}
}

// A speed without a unit that holds whole km/h turned into mph is in mph; a whole number of mph is no hint.
func TestMilesOfWholeKm(t *testing.T) {
	l, err := readForm("miles_of_whole_km.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if v := l.Channel(drive.VehicleSpeed).V; math.Abs(v[0]-20) > 0.02 || math.Abs(v[59]-79) > 0.02 {
		t.Errorf("%.2f to %.2f km/h, want 20 to 79", v[0], v[59])
	}
	if n := len(l.Warnings); n != 1 || l.Warnings[0].Code != finding.SpeedInMiles {
		t.Errorf("it says %v", l.Warnings)
	}
	l, err = readForm("miles_of_whole_km.csv", Options{Map: []string{"vehicle_speed_kmh=Speed:km/h"}})
	if err != nil || l.Channel(drive.VehicleSpeed).V[0] > 13 {
		t.Errorf("told that it is km/h, it is read otherwise: %v", err)
	}
	var whole []float64
	for v := range 90 {
		whole = append(whole, float64(v))
	}
	if milesOfWholeKm(whole) {
		t.Error("whole numbers are taken for converted ones")
	}
}

// A speed that drops out again and again says nothing of the unit of the clock.
func TestDropoutsTellNoUnitOfTheClock(t *testing.T) {
	var b strings.Builder
	b.WriteString("Time,Engine RPM,Speed (km/h)\n")
	for i := range 2000 {
		v := 60 + 20*math.Sin(float64(i)/100)
		if i%200 > 190 {
			v = 0
		}
		fmt.Fprintf(&b, "%.1f,%.0f,%.1f\n", float64(i)/10, 35*(60+20*math.Sin(float64(i)/100)), v)
	}
	l, err := read(strings.NewReader(b.String()), "log.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if first, last := l.Span(); math.Abs(last-first-199.9) > 0.1 {
		t.Errorf("it lasts %g s, want 199.9: %v", last-first, l.Warnings)
	}
}

// A drive that was put behind itself is read once.
func TestDriveBehindItself(t *testing.T) {
	b, err := os.ReadFile(filepath.Join("testdata", "forms", "quarters_of_rpm.csv"))
	if err != nil {
		t.Fatal(err)
	}
	once, err := read(bytes.NewReader(b), "log.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	twice, err := read(bytes.NewReader(append(b, b...)), "log.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if n, want := twice.Channel(drive.EngineSpeed).Len(), once.Channel(drive.EngineSpeed).Len(); n != want || !hasWarning(twice, finding.DuplicateRows) {
		t.Errorf("%d engine speeds, want %d: %v", n, want, twice.Warnings)
	}
}

// Pairs of names and values in a long preamble do not make records of a table.
func TestPairsInAPreamble(t *testing.T) {
	var b strings.Builder
	for i := range 60 {
		fmt.Fprintf(&b, "Gear ratio of run %d: 3.6; final drive: 4.1; tyres: 1985; mass with all that was in the car and the driver too: 1310\n", i)
	}
	b.WriteString("Time (s);Engine RPM;Speed (km/h)\n")
	for i := range 400 {
		fmt.Fprintf(&b, "%.1f;%d;%d\n", float64(i)/10, 1000+i, 20+i/10)
	}
	l, err := read(strings.NewReader(b.String()), "log.csv", Options{})
	if err != nil || l.Rows != 400 {
		t.Errorf("%v %v", l, err)
	}
}

// Temperatures without a unit of which one is too hot for °C are in °F, and a number that no throttle shows is left out.
func TestDegreesUnsaid(t *testing.T) {
	l, err := readForm("degrees_unsaid.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	for channel, want := range map[string]float64{drive.CoolantTemp: 84.4, drive.IntakeTemp: 30, drive.Throttle: 20} {
		if c := l.Channel(channel); c == nil || math.Abs(c.V[7]-want) > 0.1 {
			t.Errorf("%s is %v, want %g", channel, c, want)
		}
	}
	if n := l.Channel(drive.Throttle).Len(); n != 59 || !hasWarning(l, finding.UnitFromCar) || !hasWarning(l, finding.AbsurdValues) {
		t.Errorf("%d throttles; it says %v", n, l.Warnings)
	}
}

// The last number of a text that ends in it may go on: it is no value.
func TestCutInANumber(t *testing.T) {
	l, err := readForm("cut_in_a_number.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if rpm, kmh := l.Channel(drive.EngineSpeed).Len(), l.Channel(drive.VehicleSpeed).Len(); rpm != 60 || kmh != 59 {
		t.Errorf("%d engine speeds and %d road speeds, want 60 and 59", rpm, kmh)
	}
	l, err = read(strings.NewReader("t=0 rpm=900 kmh=10\nt=1 rpm=950 kmh=11\nt=2 rpm=990 kmh=1"), "log.txt", Options{})
	if err != nil || l.Channel(drive.EngineSpeed).Len() != 3 || l.Channel(drive.VehicleSpeed).Len() != 2 {
		t.Errorf("%v %v", l, err)
	}
}

// Headings are found in the encodings of several trades and countries.
func TestEncodings(t *testing.T) {
	const ru, ja, zh = "Время (с);Обороты двигателя (об/мин);Скорость автомобиля (км/ч)", "時間(s);エンジン回転数(rpm);車速(km/h)", "時間(s);引擎轉速(rpm);車速(km/h)"
	for _, c := range []struct {
		head string
		in   encoding.Encoding
	}{{ru, charmap.Windows1251}, {ru, charmap.KOI8R}, {ru, charmap.CodePage866}, {ru, charmap.ISO8859_5}, {ja, japanese.ShiftJIS}, {ja, japanese.EUCJP}, {ja, japanese.ISO2022JP}, {zh, traditionalchinese.Big5}} {
		text, err := c.in.NewEncoder().String(c.head + "\n0;900;10\n1;1000;11\n2;1100;12\n")
		if err != nil {
			t.Fatal(err)
		}
		if _, err := read(strings.NewReader(text), "log.csv", Options{}); err != nil {
			t.Errorf("%v: %v", c.in, err)
		}
	}
}

// An option that changes nothing is told; one that settles what was assumed is not.
func TestIdleOptions(t *testing.T) {
	for _, c := range []struct {
		opt  Options
		idle int
	}{
		{Options{Map: []string{"engine_speed_rpm=RPM"}}, 1},
		{Options{Map: []string{"engine_speed_rpm=RPM", "vehicle_speed_kmh=Speed (km/h)"}}, 2},
		{Options{Time: "ts:ms"}, 1},
		{Options{Time: "ts"}, 1},
		{Options{Map: []string{"gps_speed_kmh=Speed (km/h)"}}, 0},
	} {
		l, err := readForm("ts_13_digits.csv", c.opt)
		if err != nil {
			t.Fatal(err)
		}
		idle := 0
		for _, w := range l.Warnings {
			if w.Code == finding.IdleOption {
				idle++
			}
		}
		if idle != c.idle {
			t.Errorf("%v: %d options change nothing, want %d: %v", c.opt, idle, c.idle, l.Warnings)
		}
	}
}

// A packed log that was not copied in full gives the rows that are there, and says so.
func TestPackedFileThatBrokeOff(t *testing.T) {
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	rng := rand.New(rand.NewPCG(2, 2))
	fmt.Fprintln(z, "Time (s),RPM,Speed (km/h)")
	const rows = 100_000
	for i := range rows {
		fmt.Fprintf(z, "%.2f,%d,%d\n", float64(i)/20, 900+rng.IntN(5000), 20+rng.IntN(90))
	}
	z.Close()
	for name, damage := range map[string]func(b []byte) []byte{
		"cut":   func(b []byte) []byte { return b[:len(b)*3/4] },
		"short": func(b []byte) []byte { return b[:2000] },
		"hit":   func(b []byte) []byte { clear(b[len(b)/2 : len(b)/2+100]); return b },
	} {
		t.Run(name, func(t *testing.T) {
			text, err := Text(bytes.NewReader(damage(bytes.Clone(packed.Bytes()))), "log.csv.gz")
			if err != nil {
				t.Fatal(err)
			}
			l, err := Read(text, "log.csv.gz", Options{})
			if err != nil {
				t.Fatal(err)
			}
			if l.Rows < 100 || l.Rows >= rows || !slices.ContainsFunc(l.Warnings, func(w drive.Warning) bool { return w.Code == finding.BrokenOff }) {
				t.Errorf("%d rows, and it says %v", l.Rows, l.Warnings)
			}
		})
	}
}

// A zip archive whose end is missing gives what is there of its first file, a table of one value to a row that was cut short its rows.
func TestOtherPackedFilesThatBrokeOff(t *testing.T) {
	numbers.Only(t)
	var long, table bytes.Buffer
	long.WriteString("Time (s),Name,Value\n")
	table.WriteString("Time (s),RPM,Speed (km/h)\n")
	rng := rand.New(rand.NewPCG(2, 3))
	const rows = 50_000
	for i := range rows {
		rpm, kmh := 900+rng.IntN(5000), 20+rng.IntN(90)
		fmt.Fprintf(&long, "%.2f,Engine RPM,%d\n%.2f,Vehicle speed (km/h),%d\n", float64(i)/20, rpm, float64(i)/20, kmh)
		fmt.Fprintf(&table, "%.2f,%d,%d\n", float64(i)/20, rpm, kmh)
	}
	var packed, archive bytes.Buffer
	g := gzip.NewWriter(&packed)
	g.Write(long.Bytes())
	g.Close()
	z := zip.NewWriter(&archive)
	in, err := z.Create("day/drive.csv")
	if err != nil {
		t.Fatal(err)
	}
	in.Write(table.Bytes())
	z.Close()
	for name, b := range map[string][]byte{"long.csv.gz": packed.Bytes()[:packed.Len()/2], "drive.zip": archive.Bytes()[:archive.Len()/2]} {
		l, err := read(bytes.NewReader(b), name, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if n := l.Channel(drive.EngineSpeed).Len(); n < rows/3 || n > rows*2/3 || !hasWarning(l, finding.BrokenOff) || l.Skipped != 0 {
			t.Errorf("%s: %d engine speeds of %d, %v", name, n, rows, l.Warnings)
		}
	}
}

// A line of records that is longer than any logger writes is left out, and takes no memory.
func TestRecordLineThatIsTooLong(t *testing.T) {
	var text strings.Builder
	for i := range 20 {
		fmt.Fprintf(&text, "{\"t\": %d, \"rpm\": %d, \"speed_kmh\": %d}\n", i, 900+i, 20+i)
		if i == 10 {
			text.WriteString("{\"t\": 5, \"note\": \"" + strings.Repeat("x", maxLine) + "\"}\n")
		}
	}
	l, err := read(strings.NewReader(text.String()), "log.json", Options{})
	if err != nil || l.Rows != 20 || l.Skipped != 1 {
		t.Errorf("%+v, %v", l, err)
	}
}

// Fifty thousand columns are answered: headings are looked up once, and a line may be long.
func TestManyColumns(t *testing.T) {
	numbers.Only(t)
	const columns, rows = 50_000, 20
	head := "Time (s),Engine speed (rpm),Vehicle speed (km/h)" + strings.Repeat(",Sensor value of a module", columns) + "\n"
	var b strings.Builder
	b.WriteString(head)
	for i := range rows {
		fmt.Fprintf(&b, "%d.5,%d,30%s\n", i, 1000+i, strings.Repeat(",1", columns))
	}
	text, err := Text(strings.NewReader(b.String()), "wide.csv")
	if err != nil {
		t.Fatal(err)
	}
	began := time.Now()
	l, err := Read(text, "wide.csv", Options{})
	if err != nil || l.Rows != rows {
		t.Errorf("%v, %v", l, err)
	}
	if took := time.Since(began); took > 20*time.Second { // 0.5 s on an idle machine
		t.Errorf("it took %v", took)
	}
}

// What no logger writes is answered at once, in one short line: a million columns, a heading of a megabyte.
func TestTooMuch(t *testing.T) {
	for name, text := range map[string]string{
		"columns": "Time (s),RPM,Speed (km/h)\n" + strings.Repeat("1,", 1_000_000) + "\n" + strings.Repeat("2,", 1_000_000) + "\n",
		"heading": "Time (s),RPM," + strings.Repeat("Vel.", 250_000) + " [km/h]\n0,900,1\n1,900,2\n2,900,3\n",
	} {
		began := time.Now()
		_, err := read(strings.NewReader(text), name, Options{})
		if err == nil || len(err.Error()) > 400 {
			t.Errorf("%s: %.500v", name, err)
		}
		if took := time.Since(began); took > 10*time.Second { // 0.5 s on an idle machine
			t.Errorf("%s: it took %v", name, took)
		}
	}
}

// Each column of a table is explained: what it is taken for and why, or why it is not used.
func TestExplain(t *testing.T) {
	table := "Time (s),Target RPM,RPM,Speed,Note\n" + strings.Repeat("0.1,800,1000,30,x\n0.2,800,1010,31,y\n", 5)
	text, err := Text(strings.NewReader(table), "log.csv")
	if err != nil {
		t.Fatal(err)
	}
	u, err := Explain(text, "log.csv", Options{})
	if err != nil || u.Problem != nil {
		t.Fatal(err, u)
	}
	for i, want := range []struct{ as, why string }{{"time", "numbers of s"}, {"", `"target"`}, {drive.EngineSpeed, "heading"}, {drive.VehicleSpeed, "no unit"},
		{"", "no channel"}} {
		if c := u.Columns[i]; c.As != want.as || !strings.Contains(c.Why, want.why) {
			t.Errorf("%s: %q because %q, want %q because of %q", c.Heading, c.As, c.Why, want.as, want.why)
		}
	}
	if len(u.Notes) != 1 || !strings.Contains(u.Layout, "comma") {
		t.Errorf("%s; %v", u.Layout, u.Notes)
	}
}

// A throttle from 0 to 1 opens; one in per cent that hardly opens stays as it is, and so does a column that is told to be per cent.
func TestShares(t *testing.T) {
	l, err := readForm("throttle_as_share.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if v := l.Channel(drive.Throttle).V; math.Abs(v[0]-20) > 1e-9 || math.Abs(v[59]-79) > 1e-9 {
		t.Errorf("%g to %g %%, want 20 to 79", v[0], v[59])
	}
	l, err = readForm("throttle_as_share.csv", Options{Map: []string{"throttle_pct=Throttle:%"}})
	if err != nil || l.Channel(drive.Throttle).V[0] != 0.2 {
		t.Errorf("told that it is per cent, it is read otherwise: %v", err)
	}
	var steps []float64
	for i := range 100 {
		steps = append(steps, float64(i%3)*100/255)
	}
	if isShare(steps, false) {
		t.Error("the three lowest steps of a control unit are taken for a share")
	}
}

// What is no text says what it is; what hides a log says how to get at it.
func TestOtherKinds(t *testing.T) {
	var once, twice bytes.Buffer
	z := gzip.NewWriter(&once)
	fmt.Fprintln(z, "Time (s),RPM,Speed (km/h)\n1,900,0\n2,901,0")
	z.Close()
	z = gzip.NewWriter(&twice)
	z.Write(once.Bytes())
	z.Close()
	for text, says := range map[string]string{twice.String(): "packed twice", "BZh91AY&SY\x00": "bzip2", "PK\x05\x06" + strings.Repeat("\x00", 18): "without a log",
		"log.csv" + strings.Repeat("\x00", 250) + "ustar\x00": "tar", "%PDF-1.4\n1,2,3\n": "PDF", "SQLite format 3\x00": "database"} {
		if _, err := read(strings.NewReader(text), "log.csv", Options{}); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v, want %q", text[:6], err, says)
		}
	}
}
