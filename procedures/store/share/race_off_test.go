//go:build !race

package share

// raceDetector tells that the tests run many times slower than otherwise.
const raceDetector = false
