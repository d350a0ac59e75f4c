package cli

import (
	"fmt"

	"github.com/spf13/pflag"

	"cardback/internal/measure/slice"
)

// poseFlags say how a part lies and how it is cut into layers.
type poseFlags struct {
	layerFlags
	tilt  angle
	about string
}

func (p *poseFlags) add(f *pflag.FlagSet) {
	f.Var(&p.tilt, "tilt", "lay the part over by this angle, with --about")
	f.StringVar(&p.about, "about", "", "tilt about this `AXIS`, x or y, by the right-hand rule")
	p.layerFlags.add(f)
}

func (p *poseFlags) options(f *pflag.FlagSet) (slice.Options, error) {
	o, err := p.layerFlags.options()
	switch tilted, about := f.Changed("tilt"), f.Changed("about"); {
	case err != nil:
	case about && p.about != "x" && p.about != "y":
		err = fmt.Errorf("--about is %q; expected x or y", p.about)
	case tilted && !(p.tilt >= -180 && p.tilt <= 180):
		err = fmt.Errorf("--tilt is %v; expected -180 to 180 degrees", float64(p.tilt))
	case tilted && !about:
		err = fmt.Errorf("--tilt wants an axis: --tilt %v --about x, or --about y", float64(p.tilt))
	case about && !tilted:
		err = fmt.Errorf("--about %s wants an angle, as in --tilt 40 --about %s", p.about, p.about)
	}
	if p.tilt != 0 {
		o.Pose = slice.Pose{Tilt: float64(p.tilt), About: p.about}
	}
	return o, err
}

// layerFlags say how a part is cut into layers.
type layerFlags struct {
	layer length
	limit angle
}

const (
	// thinnestLayer and thickestLayer, in mm, bound what is taken for a layer's
	// height: vat printers go down to 0.01, wide nozzles up to about 1 (common
	// practice, no source).
	thinnestLayer, thickestLayer = 0.005, 5
	// steepestLimit is the greatest limit angle: at 90° nothing leans out.
	steepestLimit = 89
)

func (l *layerFlags) add(f *pflag.FlagSet) {
	l.layer, l.limit = slice.DefaultLayer, slice.DefaultLimit
	f.Var(&l.layer, "layer", "height of a layer, in mm or with a unit")
	f.Var(&l.limit, "limit", "overhang limit, from the vertical")
}

func (l *layerFlags) options() (slice.Options, error) {
	switch {
	case !(l.layer >= thinnestLayer && l.layer <= thickestLayer):
		return slice.Options{}, fmt.Errorf("--layer is %v mm; expected %v to %v mm, such as 0.05", float64(l.layer), thinnestLayer, thickestLayer)
	case !(l.limit >= 1 && l.limit <= steepestLimit):
		return slice.Options{}, fmt.Errorf("--limit is %v; expected 1 to %d degrees from the vertical, such as 45", float64(l.limit), steepestLimit)
	}
	return slice.Options{Layer: float64(l.layer), Limit: float64(l.limit)}, nil
}
