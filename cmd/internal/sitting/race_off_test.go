//go:build !race

package sitting

// raceDetector tells that the tests run many times slower than otherwise.
const raceDetector = false
