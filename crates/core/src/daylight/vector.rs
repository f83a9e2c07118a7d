//! Vectors of three numbers: east, north, up - or floor x, y, z.

/// A vector of three numbers.
pub(super) type Vector = [f64; 3];

/// The scalar product.
pub(super) fn dot(a: Vector, b: Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// The vector product.
pub(super) fn cross(a: Vector, b: Vector) -> Vector {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

/// From `b` to `a`.
pub(super) fn minus(a: Vector, b: Vector) -> Vector {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

/// `a` and `factor` times `b`.
pub(super) fn plus_scaled(a: Vector, b: Vector, factor: f64) -> Vector {
    [a[0] + factor * b[0], a[1] + factor * b[1], a[2] + factor * b[2]]
}

/// `factor` times the vector.
pub(super) fn scaled(a: Vector, factor: f64) -> Vector {
    [a[0] * factor, a[1] * factor, a[2] * factor]
}

/// The length.
pub(super) fn length(a: Vector) -> f64 {
    dot(a, a).sqrt()
}

/// The direction of a vector that is longer than `least`.
pub(super) fn direction(a: Vector, least: f64) -> Option<Vector> {
    let length = length(a);
    (length > least).then(|| scaled(a, 1.0 / length))
}
