// Package findings is the document that an examination writes (findings.json): its
// types, the schema that describes them, and sentences that keep the teeth they name. It
// holds what was found and computes nothing.
//
// Points and directions are in the articulator frame (x to the patient's left, y to
// posterior, z to superior), lengths mm, gaps µm, angles degrees, as the names of the
// fields say.
package findings
