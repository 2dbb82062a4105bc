// Package contact finds where two arches meet: the opening at which the lower
// arch, closing on its hinge, first touches the upper one, the least gap
// between parts of them, and the patches within a foil's thickness.
//
// Both arches are given in intercuspation in the articulator frame of package
// kinematics, in mm; the lower one is moved by poses. Gaps are distances of
// surfaces, zero where they cross. Normals of contacts point from the lower to
// the upper arch.
package contact
