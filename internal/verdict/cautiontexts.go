package verdict

// usual is the caution of a code in our own words. They are common practice;
// the facts behind them are in check-values 8. Each defers to what outranks
// it.
func usual(code CautionCode) Caution {
	for _, c := range usualCautions {
		if c.Code == code {
			return c
		}
	}
	return Caution{Code: code}
}

var usualCautions = []Caution{
	{
		Code: SmallPartCaution, About: "Small parts",
		Text: "Small parts can choke a child. Keep the figure, its loose parts and what is left over from children under three, and from anyone who puts things in their mouth. A part that does not fit the gauge is not safe for that: parts break. If somebody chokes, call for medical help at once. Where you give or sell copies, local law decides what must be written on them.",
	},
	{
		Code: MagnetCaution, About: "Magnets",
		Brief: "Magnets: count them, keep them from children, glue each in so that it cannot come out.",
		Text:  "Two swallowed magnets can clamp together inside the body and do grave harm. Keep loose magnets away from children, glue each one in so that it cannot come out, and if one may have been swallowed get medical help at once. Keep them away from implanted medical devices.",
	},
	{
		Code: SharpCaution, About: "Thin points",
		Brief: "Thin point: mind your eyes and fingers.",
		Text:  "Thin pins and points can be sharp{points} and leave splinters when they break. Blunt them with a file where the figure stands within reach of children, and mind your eyes when you bend over it.",
	},
	{
		Code: CuttingCaution, About: "Cutting rod and wire",
		Brief: "Cutting: eye protection, hold both sides of the cut, file the ends round.",
		Text:  "Cut ends fly and are sharp. Wear eye protection, hold both sides of the cut, and file every end round before it goes into a joint. Sink the ends or cover them, so that none stands out of the figure.",
	},
	{
		Code: AdhesiveCaution, About: "Adhesives",
		Brief: "Adhesive: moving air, eye protection, off the skin.",
		Text:  "Fast glue bonds skin in seconds and its fumes sting; two-part glue can make skin allergic. Work in moving air with gloves on, and keep the safety data sheet's advice for spills and eyes at hand. If glue reaches an eye, rinse with water and get medical help.",
	},
	{
		Code: SandingCaution, About: "Sanding and trimming",
		Brief: "Sanding: wet, with a dust mask; cut away from your fingers.",
		Text:  "Dust of printed plastic{dust} does not belong in lungs. Sand wet, wear a mask rated for fine dust and eye protection, and cut away from your fingers.",
	},
	{
		Code: PaintCaution, About: "Spray paint and varnish",
		Brief: "Spray and varnish: outside or under extraction, no flames.",
		Text:  "Spray paint, varnish and thinner give off vapour that burns and harms. Use them outside or under extraction, with the mask that the tin asks for, away from flames. The maker's safety data sheet decides.",
	},
	{
		Code: HeatCaution, About: "Hot cars and sunlit windows",
		Text: "After an hour in the sun on a hot day a dashboard reaches about 69 °C and a seat 50 °C. That bends prints of most common stocks. Keep the figure out of cars and sunlit windows; the material's data sheet says what yours stands.",
	},
	{
		Code: DisplayCaution, About: "A display piece",
		Text: "This is a model for display. It has not been tested as a toy under any standard; joints and rods can come out, and parts can break off. Do not give it to children under 14 or to anyone who puts things in their mouth. If you want to sell or give away copies as toys, the law where you live decides what testing that needs.",
	},
}
