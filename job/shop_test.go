package job

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

func picture(w, h int) image.Image {
	m := image.NewNRGBA(image.Rect(0, 0, w, h))
	for i := range w * h {
		m.SetNRGBA(i%w, i/w, color.NRGBA{uint8(i), uint8(i * i), uint8(i / 7), 255})
	}
	return m
}

func encoded(t *testing.T, kind string, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	var err error
	if kind == "png" {
		err = png.Encode(&b, m)
	} else {
		err = jpeg.Encode(&b, m, nil)
	}
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// withLogo loads a job whose shop has a logo of these bytes.
func withLogo(t *testing.T, logo []byte) (*Job, error) {
	t.Helper()
	path := folder(t, "before = [\"before/*.csv\"]\n[shop]\nname = \"Works\"\naddress = [\"4 Lane\", \"Town\"]\nlogo = \"sign.png\"\n", drives...)
	if err := os.WriteFile(filepath.Join(filepath.Dir(path), "sign.png"), logo, 0o600); err != nil {
		t.Fatal(err)
	}
	j, _, err := Load(path)
	return j, err
}

func TestShopAndCar(t *testing.T) {
	j, warnings, err := Load(folder(t, `before = ["before/*.csv"]
customer = "M. Sample"
registration = "FW 26 MULE"
vin = "flywtnss000 mule01"
date = "27 March 2026"
[shop]
name = "Works"
address = "4 Lane"
`, drives...))
	if err != nil || len(warnings) > 0 {
		t.Fatal(err, warnings)
	}
	if j.Customer != "M. Sample" || j.Registration != "FW 26 MULE" || j.VIN != "FLYWTNSS000MULE01" || j.Date != "27 March 2026" ||
		!reflect.DeepEqual(j.Shop, &Shop{Name: "Works", Address: []string{"4 Lane"}}) {
		t.Errorf("%+v, shop %+v", j, j.Shop)
	}
	if _, warnings, _ = Load(folder(t, "before = [\"before/*.csv\"]\nvin = \"O123\"\n", drives...)); len(warnings) != 1 || !strings.Contains(warnings[0], "17 characters") {
		t.Errorf("a short VIN: %q", warnings)
	}
}

func TestLogo(t *testing.T) {
	small := picture(30, 20)
	for kind, data := range map[string][]byte{"png": encoded(t, "png", small), "jpeg": encoded(t, "jpeg", small)} {
		// What stands behind the picture in the file, and what a camera writes into it, does not come along.
		j, err := withLogo(t, append(data, "<script>taken at home</script>"...))
		if err != nil {
			t.Fatal(kind, err)
		}
		l := j.Shop.Logo
		if l.Type != "image/"+kind || bytes.Contains(l.Data, []byte("script")) {
			t.Errorf("%s: type %s, %d bytes", kind, l.Type, len(l.Data))
		}
		if got, _, err := image.Decode(bytes.NewReader(l.Data)); err != nil || got.Bounds() != small.Bounds() {
			t.Errorf("%s: %v", kind, err)
		}
	}
	whole := encoded(t, "png", small)
	bomb := encoded(t, "png", image.NewGray(image.Rect(0, 0, 2001, 3)))
	for name, c := range map[string]struct {
		data []byte
		want string
	}{
		"no picture":     {[]byte("<svg onload=alert(1)>"), "logo is no picture that can be used; save it as PNG or JPEG"},
		"empty":          {nil, "save it as PNG or JPEG"},
		"cut short":      {whole[:len(whole)/2], "is a damaged picture"},
		"too wide":       {bomb, "logo is 2001 by 3 pixels; at most 2000"},
		"too large":      {make([]byte, maxLogoFile+1), "larger than 512 kB"},
		"too many bytes": {encoded(t, "jpeg", noise(900, 900)), "at most 256 can be used"},
	} {
		_, err := withLogo(t, c.data)
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "job.toml:5:1:") || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// noise is a picture that no encoder makes small.
func noise(w, h int) image.Image {
	m, x := image.NewNRGBA(image.Rect(0, 0, w, h)), uint32(1)
	for i := range m.Pix {
		x = x*1664525 + 1013904223
		m.Pix[i] = uint8(x>>24) | 1
	}
	return m
}

// A pipe would be waited for without end, a folder is no picture, and what is not there is named.
func TestLogoThatIsNoFile(t *testing.T) {
	path := folder(t, "before = [\"before/*.csv\"]\n[shop]\nlogo = \"sign\"\n", drives...)
	sign := filepath.Join(filepath.Dir(path), "sign")
	if _, _, err := Load(path); err == nil || !strings.Contains(err.Error(), "cannot be read") {
		t.Errorf("missing: %v", err)
	}
	if err := os.Mkdir(sign, 0o700); err != nil {
		t.Fatal(err)
	}
	if _, _, err := Load(path); err == nil || !strings.Contains(err.Error(), "is not a file") {
		t.Errorf("a folder: %v", err)
	}
	if err := os.Remove(sign); err != nil {
		t.Fatal(err)
	}
	if err := exec.Command("mkfifo", sign).Run(); err != nil {
		t.Skip(err)
	}
	if _, _, err := Load(path); err == nil || !strings.Contains(err.Error(), "is not a file") {
		t.Errorf("a pipe: %v", err)
	}
}
