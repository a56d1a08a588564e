package drag

// Verdict on whether the correction works on this car.
type Verdict string

// The verdicts.
const (
	Earned  Verdict = "earned"
	Open    Verdict = "open"
	Refuted Verdict = "refuted"
)

// Trust is what this car's own data say of the correction.
type Trust struct {
	Verdict Verdict `json:"verdict"`
	By      string  `json:"by"` // sittings | ladder | ""
}
