//go:build !race

package record

// raceDetector tells that the tests run many times slower than otherwise.
const raceDetector = false
