// Package occlusion examines two casts as a case says: it mounts them, closes
// them, takes them through the movements of the jaw and writes down what meets
// what. It joins the packages mesh, dentition, kinematics and contact; what it
// finds are [findings.Findings], which package report presents.
package occlusion
