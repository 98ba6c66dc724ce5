// Package balance answers whether a rigid figure stands on its support, how far
// it may lean before it tips, and how fast it rocks.
//
// Lengths are in m, masses in kg, angles in rad; y points up and gravity acts
// along -y. A figure tilts in one plane at a time: about the z axis, in the plane
// of the picture, unless [Options] say otherwise; a positive tilt is
// counter-clockwise for one who looks against the axis. Feet roll without
// slipping and without loss.
//
// It builds on body and knows nothing of drawings, questions or notebooks.
package balance

// StandardGravity is the standard acceleration of free fall in m/s².
// Source: 3rd CGPM (1901); NIST SP 330.
const StandardGravity = 9.80665
