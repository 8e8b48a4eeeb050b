package report

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

func bytesOf(t testing.TB, r *Record) []byte {
	t.Helper()
	var buf bytes.Buffer
	n, err := r.WriteTo(&buf)
	if err != nil || n != int64(buf.Len()) {
		t.Fatalf("%d bytes of %d, %v", n, buf.Len(), err)
	}
	return buf.Bytes()
}

func TestRecordThereAndBack(t *testing.T) {
	rec := recordOf(t, "a.xlsx", jobOf(40, "MR"))
	data := bytesOf(t, rec)
	b, err := ReadBook(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	for name, pair := range map[string][2]any{
		"book": {rec.Book, b}, "tanks": {rec.Book.Tanks, b.Tanks}, "findings": {rec.Book.Findings, b.Findings}, "across": {rec.Book.Across, b.Across},
	} {
		want, _ := json.Marshal(pair[0])
		if got, _ := json.Marshal(pair[1]); !bytes.Equal(got, want) {
			t.Errorf("the %s are not what was written", name)
		}
	}
	k, err := open(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	err = k.eachBundle(func(b []byte) error {
		n++
		_, err := base64.StdEncoding.DecodeString(string(b))
		return err
	})
	if n != 2 || err != nil {
		t.Errorf("%d bundles for 40 tanks, want 2 (%v)", n, err)
	}
	if len(k.Tanks) != 0 || k.Across != nil || k.NTanks != 40 {
		t.Error("the head alone brings the parts with it, or does not count the tanks")
	}
	// Cut off anywhere, it is no record and no panic.
	parts := int(k.at)
	for _, n := range k.Sizes {
		parts += n
	}
	for _, n := range []int{0, 1, 100, int(k.at) - 1, int(k.at), int(k.at) + k.Sizes[0] - 1, parts - k.Sizes[partRows], parts - 1} {
		if _, err := ReadBook(bytes.NewReader(data[:n])); !errors.Is(err, ErrRecord) {
			t.Errorf("of a record cut off after %d bytes it is said: %v", n, err)
		}
	}
	if err := k.read(withTanks); err != nil || len(k.Tanks) != 40 || k.Findings != nil || k.Across != nil {
		t.Errorf("of the tanks alone came %d, with findings %v or more (%v)", len(k.Tanks), k.Findings, err)
	}
}

// A record of another version is told from one that was cut off or spoilt.
func TestRecordOfAnotherVersion(t *testing.T) {
	now := recordOf(t, "a.xlsx", jobOf(2, "MR"))
	for _, old := range []string{
		`{"path":"a.xlsx","charts":2,"rows":194,"tanks":[],"findings":[],"orders":[],"across":{"Name":"a.xlsx"}}` + "\n",
		strings.Replace(string(bytesOf(t, now)), RecordForm, "record 9999", 1),
	} {
		if _, err := ReadBook(strings.NewReader(old)); !errors.Is(err, ErrRecord) {
			t.Errorf("of a record of another version it is said: %v", err)
		}
	}
	f := folderFrom(t, func(string) (*Book, error) { return nil, ErrRecord }, now)
	if want := "1 book cannot be compared, since the run before was made by another version of dropcut"; f.Changes.Summary() != want || f.Changes.Count != 0 {
		t.Errorf("changes: %q, want %q", f.Changes.Summary(), want)
	}
}

// Sizes that lie, as in a record that somebody has changed, take no memory and
// end in an error.
func TestRecordWhoseSizesLie(t *testing.T) {
	data := string(bytesOf(t, recordOf(t, "a.xlsx", jobOf(2, "MR"))))
	at := strings.Index(data, `"sizes":[`) + len(`"sizes":[`)
	for _, size := range []string{"9999999999999", "-5", "0"} {
		bad := data[:at] + size + data[at+strings.IndexByte(data[at:], ','):]
		if _, err := ReadBook(strings.NewReader(bad)); !errors.Is(err, ErrRecord) {
			t.Errorf("with a size of %s: %v", size, err)
		}
	}
}

// Numbers come back to the bit, and lists as charts have them take a byte or two
// a number.
func TestNumbersThereAndBack(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	var eighths, wild, volumes []float64
	for i := range 200 {
		eighths = append(eighths, float64(i)/8)
		volumes = append(volumes, math.Round(10000*float64(i*i)/40000))
		wild = append(wild, math.Float64frombits(rng.Uint64()))
	}
	lists := [][]float64{nil, {0}, {math.Copysign(0, -1)}, {math.NaN()}, {math.Inf(1)}, {1e300, 1}, {0.1, 0.2, 0.30000000000000004}, {5e-324}, {1 << 53}, eighths, volumes, wild}
	var all []byte
	for _, l := range lists {
		all = appendNumbers(all, l)
	}
	rest := all
	for _, want := range lists {
		var got []float64
		var ok bool
		if got, rest, ok = takeNumbers(rest); !ok || len(got) != len(want) {
			t.Fatalf("%d numbers came back, want %d", len(got), len(want))
		}
		for i := range want {
			if math.Float64bits(got[i]) != math.Float64bits(want[i]) {
				t.Errorf("%v came back as %v", want[i], got[i])
			}
		}
	}
	if len(rest) != 0 {
		t.Errorf("%d bytes are left over", len(rest))
	}
	if n := len(appendNumbers(nil, slices.Concat(eighths, volumes))); n > 3*len(eighths)*2/2+10 {
		t.Errorf("a chart of %d rows takes %d bytes", len(eighths), n)
	}
}

func FuzzNumbers(f *testing.F) {
	f.Add(appendNumbers(nil, []float64{1, 2, 3.5}))
	f.Add(appendNumbers(nil, []float64{math.Pi, -1e9}))
	f.Add([]byte{0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0x01, 0})
	f.Fuzz(func(t *testing.T, data []byte) {
		list, _, ok := takeNumbers(data)
		if !ok {
			return
		}
		again, rest, ok := takeNumbers(appendNumbers(nil, list))
		if !ok || len(rest) != 0 || len(again) != len(list) {
			t.Fatalf("%v came back as %v", list, again)
		}
		for i := range list {
			if math.Float64bits(again[i]) != math.Float64bits(list[i]) {
				t.Fatalf("%v came back as %v", list[i], again[i])
			}
		}
	})
}

func FuzzReadBook(f *testing.F) {
	data := bytesOf(f, recordOf(f, "a.xlsx", jobOf(2, "MR")))
	f.Add(data)
	f.Add(data[:len(data)/2])
	f.Add([]byte("{}\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		k, err := open(bytes.NewReader(data))
		if err != nil {
			return
		}
		_ = k.read(withTanks | withFindings | withAcross)
		_ = k.eachBundle(func([]byte) error { return nil })
	})
}

// The steps of the end of a run, for one book of 25 tanks: what each costs is
// what it decodes.
func BenchmarkReadParts(b *testing.B) {
	data := bytesOf(b, recordOf(b, "a.xlsx", jobOf(25, "MR")))
	for _, p := range []struct {
		name string
		want parts
	}{{"head", headOnly}, {"tanks", withTanks}, {"findings", withFindings}, {"across", withAcross}, {"all", withTanks | withFindings | withAcross}} {
		b.Run(p.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				k, err := open(bytes.NewReader(data))
				if err == nil {
					err = k.read(p.want)
				}
				if err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/1000/float64(b.N)/25, "us/tank")
		})
	}
}
