//! The bones: their lengths, how they hang on each other, and where they lie once every joint is turned.
//!
//! Lengths are percent of stature, after Winter (2009) and Drillis and Contini (1966), stylised a little.
//! x is the way the person faces, y the person's left, z up; the floor is z = 0.

use crate::body::Side;
use crate::draw::vector::{M3, V3, slerp, v};

/// Hip to knee, in percent of stature.
pub const THIGH: f64 = 24.5;
/// Knee to ankle.
pub const SHANK: f64 = 24.6;
/// Shoulder to elbow.
pub const UPPER_ARM: f64 = 18.6;
/// Elbow to wrist.
pub const FOREARM: f64 = 14.6;
/// Height of the ankle joint over the sole.
pub const ANKLE_HEIGHT: f64 = 3.9;
/// Hip joint centre to mid-line.
const HIP: f64 = 4.7;
const STERNOCLAVICULAR: V3 = v(2.4, 1.6, 5.2);
const SHOULDER: V3 = v(-3.1, 8.3, -1.3);
/// The toe joint in the frame of the foot.
pub const TOE_JOINT: V3 = v(7.4, 0.0, -2.8);

/// A bone, or a rigid part of the trunk. Its frame sits at its upper joint.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Bone {
    Pelvis,
    Lumbar,
    Dorsal,
    Chest,
    Neck,
    Head,
    Clavicle(Side),
    UpperArm(Side),
    Forearm(Side),
    Hand(Side),
    Thigh(Side),
    Shank(Side),
    Foot(Side),
    Toes(Side),
}

/// How many bones there are.
pub(crate) const N_BONES: usize = 22;

impl Bone {
    /// Every bone, parents before children, in the order of [`Bone::index`].
    pub const ALL: [Bone; N_BONES] = {
        use Bone::*;
        use Side::{Left as L, Right as R};
        [
            Pelvis,
            Lumbar,
            Dorsal,
            Chest,
            Neck,
            Head,
            Clavicle(L),
            Clavicle(R),
            UpperArm(L),
            UpperArm(R),
            Forearm(L),
            Forearm(R),
            Hand(L),
            Hand(R),
            Thigh(L),
            Thigh(R),
            Shank(L),
            Shank(R),
            Foot(L),
            Foot(R),
            Toes(L),
            Toes(R),
        ]
    };

    /// Its place in lists of all bones.
    pub(crate) fn index(self) -> usize {
        match self {
            Bone::Pelvis => 0,
            Bone::Lumbar => 1,
            Bone::Dorsal => 2,
            Bone::Chest => 3,
            Bone::Neck => 4,
            Bone::Head => 5,
            Bone::Clavicle(side) => 6 + side.index(),
            Bone::UpperArm(side) => 8 + side.index(),
            Bone::Forearm(side) => 10 + side.index(),
            Bone::Hand(side) => 12 + side.index(),
            Bone::Thigh(side) => 14 + side.index(),
            Bone::Shank(side) => 16 + side.index(),
            Bone::Foot(side) => 18 + side.index(),
            Bone::Toes(side) => 20 + side.index(),
        }
    }

    /// The same bone of the other side.
    pub fn mirrored(self) -> Bone {
        match self {
            Bone::Pelvis | Bone::Lumbar | Bone::Dorsal | Bone::Chest | Bone::Neck | Bone::Head => self,
            Bone::Clavicle(side) => Bone::Clavicle(side.other()),
            Bone::UpperArm(side) => Bone::UpperArm(side.other()),
            Bone::Forearm(side) => Bone::Forearm(side.other()),
            Bone::Hand(side) => Bone::Hand(side.other()),
            Bone::Thigh(side) => Bone::Thigh(side.other()),
            Bone::Shank(side) => Bone::Shank(side.other()),
            Bone::Foot(side) => Bone::Foot(side.other()),
            Bone::Toes(side) => Bone::Toes(side.other()),
        }
    }

    /// The bone it hangs on, the bone whose frame it turns in, and its offset in the first.
    /// The two differ for the arm alone: it hangs on the shoulder girdle but is measured against the chest.
    fn link(self, retraction: f64) -> Option<(Bone, Bone, V3)> {
        Some(match self {
            Bone::Pelvis => return None,
            Bone::Lumbar => (Bone::Pelvis, Bone::Pelvis, v(-1.0, 0.0, 8.0)),
            Bone::Dorsal => (Bone::Lumbar, Bone::Lumbar, v(0.3, 0.0, 7.0)),
            Bone::Chest => (Bone::Dorsal, Bone::Dorsal, v(-0.3, 0.0, 7.0)),
            Bone::Neck => (Bone::Chest, Bone::Chest, v(-0.6, 0.0, 9.2)),
            Bone::Head => (Bone::Neck, Bone::Neck, v(1.2 - retraction, 0.0, 6.0)),
            Bone::Clavicle(side) => (Bone::Chest, Bone::Chest, STERNOCLAVICULAR.sided(side.sign())),
            Bone::UpperArm(side) => (Bone::Clavicle(side), Bone::Chest, SHOULDER.sided(side.sign())),
            Bone::Forearm(side) => (Bone::UpperArm(side), Bone::UpperArm(side), v(0.0, 0.0, -UPPER_ARM)),
            Bone::Hand(side) => (Bone::Forearm(side), Bone::Forearm(side), v(0.0, 0.0, -FOREARM)),
            Bone::Thigh(side) => (Bone::Pelvis, Bone::Pelvis, v(0.0, side.sign() * HIP, 0.0)),
            Bone::Shank(side) => (Bone::Thigh(side), Bone::Thigh(side), v(0.0, 0.0, -THIGH)),
            Bone::Foot(side) => (Bone::Shank(side), Bone::Shank(side), v(0.0, 0.0, -SHANK)),
            Bone::Toes(side) => (Bone::Foot(side), Bone::Foot(side), TOE_JOINT),
        })
    }
}

/// How the hand is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum HandShape {
    #[default]
    Relaxed,
    Flat,
    Fist,
    Grip,
}

/// A whole body: where the pelvis is and how each bone is turned against the bone above it.
#[derive(Clone, Debug, PartialEq)]
pub struct Body {
    pub root: V3,
    pub(crate) turns: [M3; N_BONES],
    /// How far the head is drawn straight back, in percent of stature.
    pub retraction: f64,
    pub hands: [HandShape; 2],
    /// Elevation and protraction of each shoulder girdle beyond its rhythm with the arm, in degrees.
    pub scapula: [[f64; 2]; 2],
}

impl Body {
    /// How a bone is turned against the one above it.
    pub fn turn(&self, bone: Bone) -> &M3 {
        &self.turns[bone.index()]
    }
    /// Turns a bone against the one above it.
    pub fn set_turn(&mut self, bone: Bone, turn: M3) {
        self.turns[bone.index()] = turn;
    }

    /// Places every bone in the room.
    pub fn skeleton(&self) -> Skeleton {
        let mut skeleton =
            Skeleton { origins: [self.root; N_BONES], axes: [*self.turn(Bone::Pelvis); N_BONES], hands: self.hands };
        self.place(&mut skeleton, &Bone::ALL);
        skeleton
    }
    /// Places some bones anew, parents before children; the others stay where they are.
    pub(crate) fn place(&self, skeleton: &mut Skeleton, bones: &[Bone]) {
        for &bone in bones {
            if let Some((hangs_on, turns_in, offset)) = bone.link(self.retraction) {
                skeleton.origins[bone.index()] = skeleton.at(hangs_on, offset);
                skeleton.axes[bone.index()] = *skeleton.frame(turns_in) * *self.turn(bone);
            }
        }
    }

    /// The same body seen in a mirror: left and right change places, nothing is solved again.
    pub fn mirrored(&self) -> Body {
        let mut body = self.clone();
        body.root = self.root.sided(-1.0);
        for bone in Bone::ALL {
            body.set_turn(bone.mirrored(), self.turn(bone).mirrored());
        }
        body.hands = [self.hands[1], self.hands[0]];
        body.scapula = [self.scapula[1], self.scapula[0]];
        body
    }

    /// The body a share `t` of the way to `other`; each joint turns along an arc.
    pub fn toward(&self, other: &Body, t: f64) -> Body {
        let mut body = self.clone();
        body.root = self.root.lerp(other.root, t);
        body.retraction = self.retraction * (1.0 - t) + other.retraction * t;
        for (turn, target) in body.turns.iter_mut().zip(&other.turns) {
            *turn = slerp(turn, target, t);
        }
        if t > 0.5 {
            body.hands = other.hands;
        }
        body
    }
}

/// Where every bone lies in the room.
#[derive(Clone, Debug)]
pub struct Skeleton {
    origins: [V3; N_BONES],
    axes: [M3; N_BONES],
    pub hands: [HandShape; 2],
}

impl Skeleton {
    /// The upper joint of the bone.
    pub fn origin(&self, bone: Bone) -> V3 {
        self.origins[bone.index()]
    }
    /// The axes of the bone, as columns.
    pub fn frame(&self, bone: Bone) -> &M3 {
        &self.axes[bone.index()]
    }
    /// A point given in the frame of a bone, in the room.
    pub fn at(&self, bone: Bone, local: V3) -> V3 {
        self.origin(bone) + *self.frame(bone) * local
    }
    /// A direction given in the frame of a bone, in the room.
    pub fn direction(&self, bone: Bone, local: V3) -> V3 {
        *self.frame(bone) * local
    }
}
