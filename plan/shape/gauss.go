package shape

// gauss holds the positive nodes and the weights of the 24-point
// Gauss-Legendre rule on [-1, 1], as gonum's integrate/quad gives them; a test
// holds them against it. Twenty-four points bring the worst head (a cone
// tilted so that the surface meets its tip) to 6e-14.
var gauss = [12][2]float64{
	{0.064056892862605519, 0.12793819534675216},
	{0.19111886747361617, 0.1258374563468283},
	{0.3150426796961634, 0.12167047292780339},
	{0.43379350762604485, 0.1155056680537256},
	{0.54542147138883934, 0.10744427011596563},
	{0.64809365193697566, 0.097618652104113884},
	{0.74012419157855447, 0.086190161531953274},
	{0.82000198597390284, 0.0733464814110803},
	{0.88641552700440107, 0.059298584915436783},
	{0.93827455200273269, 0.044277438817419808},
	{0.97472855597130947, 0.028531388628933663},
	{0.99518721999702142, 0.0123412297999872},
}

// integrate gives the integral of f over [a, b].
func integrate(a, b float64, f func(x float64) float64) float64 {
	m, r := (a+b)/2, (b-a)/2
	sum := 0.0
	for i := range gauss {
		d := r * gauss[i][0]
		sum += gauss[i][1] * (f(m-d) + f(m+d))
	}
	return r * sum
}

// integrateRoots is integrate for an f that leaves either end like a half
// power, as areas and chords do where a surface meets a wall: the substitution
// x = a + (b-a) s^2 (3-2s) turns half powers into whole ones.
func integrateRoots(a, b float64, f func(x float64) float64) float64 {
	sum := 0.0
	for i := range gauss {
		s := (1 - gauss[i][0]) / 2
		d := (b - a) * s * s * (3 - 2*s)
		sum += gauss[i][1] * 3 * s * (1 - s) * (f(a+d) + f(b-d))
	}
	return (b - a) * sum
}
