package job

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"io"
	"os"
	"strings"

	"flywitness/vehicle/tomlfile"
)

// Shop is who did the work, as it stands at the head of the sheet that is handed over.
type Shop struct {
	Name    string
	Address []string // line by line
	Logo    *Logo    // nil without one
}

// Logo is a picture as it is put into a page: read, checked and written anew, so that nothing but pixels is left of the file.
type Logo struct {
	Type string // image/png | image/jpeg
	Data []byte
}

// What a logo may take. A page is sent by mail and opened on a phone; a sheet of paper shows no more pixels than these.
const (
	maxLogoFile = 512 << 10 // bytes on disk
	maxLogo     = 256 << 10 // bytes in the page
	maxLogoSide = 2000      // pixels
)

func (j *Job) readShop(t *tomlfile.Table) {
	if !t.Given() {
		return
	}
	s := &Shop{Name: t.Text("name"), Address: t.Texts("address")}
	if path := t.Text("logo"); path != "" {
		logo, err := readLogo(j.beside(path))
		if err != nil {
			t.Refuse("logo", "%v", err)
		}
		s.Logo = logo
	}
	j.Shop = s
}

// readLogo reads a PNG or JPEG file. What a camera wrote beside the picture, such as where it was taken, stays behind.
func readLogo(path string) (*Logo, error) {
	data, err := readSmall(path)
	if err != nil {
		return nil, err
	}
	head, kind, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil || kind != "png" && kind != "jpeg" {
		return nil, errors.New("is no picture that can be used; save it as PNG or JPEG")
	}
	if head.Width > maxLogoSide || head.Height > maxLogoSide {
		return nil, fmt.Errorf("is %d by %d pixels; at most %d either way can be used, so save it smaller", head.Width, head.Height, maxLogoSide)
	}
	picture, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, errors.New("is a damaged picture; save it again")
	}
	var out bytes.Buffer
	if kind == "png" {
		err = (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&out, picture)
	} else {
		err = jpeg.Encode(&out, picture, &jpeg.Options{Quality: 90})
	}
	if err == nil && out.Len() > maxLogo {
		err = fmt.Errorf("takes %d kB; at most %d can be used, so save it with fewer pixels or colours", out.Len()>>10, maxLogo>>10)
	}
	if err != nil {
		return nil, err
	}
	return &Logo{Type: "image/" + kind, Data: out.Bytes()}, nil
}

// readSmall reads a regular file of limited size: a named pipe would be waited for without end.
func readSmall(path string) ([]byte, error) {
	info, err := os.Stat(path)
	var at *os.PathError
	switch {
	case errors.As(err, &at):
		return nil, fmt.Errorf("cannot be read: %s: %w", path, at.Err)
	case err != nil:
		return nil, err
	case !info.Mode().IsRegular():
		return nil, errors.New("is not a file; name a PNG or JPEG picture")
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, errors.New("cannot be opened; is it readable by you?")
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxLogoFile+1))
	if err == nil && len(data) > maxLogoFile {
		err = fmt.Errorf("is larger than %d kB; save it smaller", maxLogoFile>>10)
	}
	return data, err
}

// vinLength is that of every vehicle identification number since 1981 (ISO 3779, from memory). Older cars have shorter ones.
const vinLength = 17

func (j *Job) readCar(t *tomlfile.Table) {
	j.Customer, j.Registration, j.Date = t.Text("customer"), t.Text("registration"), t.Text("date")
	j.VIN = strings.ToUpper(strings.ReplaceAll(t.Text("vin"), " ", ""))
	if j.VIN != "" && (len(j.VIN) != vinLength || strings.ContainsAny(j.VIN, "IOQ")) {
		t.Warn("vin", "is unlikely: it has %d characters, of which none is I, O or Q; this is %q", vinLength, j.VIN)
	}
}
