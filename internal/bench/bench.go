package bench

// Stiffness is a material's class: rigid from 500 MPa tensile modulus,
// flexible up to 100 MPa, semi-rigid between (check values: measured materials
// leave 67 to 1000 MPa empty, so the exact cut does not matter).
type Stiffness string

const (
	Rigid     Stiffness = "rigid"
	SemiRigid Stiffness = "semi-rigid"
	Flexible  Stiffness = "flexible"
)

// Plate is a printer class's build volume, in mm. A round plate has
// Width == Depth == its diameter.
type Plate struct {
	ID, Name             string
	Process              *Process
	Width, Depth, Height float64
	Margin               float64 // kept free along the footprint's edge, not in height
	Round                bool
	Standard             bool // the design standard of its process
	// VatLeast is the liquid, in ml, that must be left in a resin printer's vat for
	// the last layer to print; it is not used up. Zero where not stated.
	VatLeast float64
	// LayerSeconds is how long a resin printer of the class takes for a layer, whatever is
	// on it, light and lift together; the first FirstLayers take FirstLayerSeconds each.
	// Zero where not stated.
	LayerSeconds, FirstLayerSeconds float64
	FirstLayers                     int
	// Flow is what a filament printer lays down while it lays lines, in mm³/s, in layers of
	// FlowLayer. WarmUpSeconds it takes before the first line; MoveSeconds for each layer
	// of each piece, to come there and to begin and end lines; and LeastLayerSeconds at
	// least for a layer, so that it cools. Zero where not stated.
	Flow, WarmUpSeconds, MoveSeconds, LeastLayerSeconds float64
	Note                                                string
}

// Material is a stock to print with.
type Material struct {
	ID, Name      string
	Process       *Process
	Stiffness     Stiffness
	Density       float64 // g/cm³, as printed
	WallMin       float64 // mm
	PinMin        float64 // mm
	HoleAllowance float64 // mm added to a rod's diameter for a free pivot
	// Shrinkage is the share of its volume that liquid resin loses as it cures,
	// from 0 to 1; zero where it is not stated, and for filament.
	Shrinkage float64
	// Price is of a kilogram of filament or a litre of liquid resin, in the bench's
	// currency; zero where not stated.
	Price float64
	// Waste is the share, from 0 to 1, that is used up beside the part: supports,
	// what is washed off, brims and purges.
	Waste  float64
	Blends []Blend
	// Softens is the temperature in °C from which a print loses its shape; zero
	// where not stated.
	Softens float64
	Source  string // where the values come from, or "common practice, no source"
	Note    string
}

// Blend says what a material becomes when another is stirred in: with a share of
// With from Least to Most (0 to 1), the mixture counts as of that stiffness.
type Blend struct {
	With        string // id of a material of the same process
	Least, Most float64
	Stiffness   Stiffness
}

// HardwareKind is the class of a bought item.
type HardwareKind string

const (
	Rod      HardwareKind = "rod"
	Wire     HardwareKind = "wire"
	Cord     HardwareKind = "cord"
	Magnet   HardwareKind = "magnet"
	Screw    HardwareKind = "screw"
	Bearing  HardwareKind = "bearing"
	Spring   HardwareKind = "spring"
	Adhesive HardwareKind = "adhesive"
)

// Hardware is a bought item. Diameter and lengths are mm; zero where the kind
// has none.
type Hardware struct {
	ID, Name    string
	Kind        HardwareKind
	Diameter    float64 // of a bearing or a spring, the outer one
	Thickness   float64 // magnets and bearings
	Length      float64 // a screw's without a head that stands proud; a spring's when nothing presses it
	Bore        float64 // a bearing's: the shaft that it takes
	StockLength float64 // rod, wire and cord as sold
	Kerf        float64 // mm that each cut takes from rod, wire or cord
	FluxIndex   float64 // of a magnet, kG²·mm², as its maker states it; zero where not stated
	Note        string
	Caution     string // shown wherever the item is
}

// Bench is the designer's reference tables, each in file order.
type Bench struct {
	Added     []*Process // to the shipped processes: see Processes
	Plates    []Plate
	Materials []Material
	Hardware  []Hardware
	Currency  string // ISO 4217 code of the prices; empty where there are none
}

// FlowLayer is the layer in mm that a plate's Flow is stated for: a line laid at the
// same speed in a thinner layer holds less in proportion.
const FlowLayer = 0.2
