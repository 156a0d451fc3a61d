//! Coefficients of the reference functions, as published.
//!
//! NIST Monograph 175 (1993) and NIST Standard Reference Database 60, public domain; the same
//! functions are the body of IEC 60584-1 and ASTM E230. Emf in millivolts, temperature in degrees
//! Celsius (ITS-90), reference junction at 0 °C. It must hold nothing but data.
#![expect(clippy::unreadable_literal, reason = "digits kept as published, to compare by eye")]

/// A polynomial that holds up to a temperature.
pub(super) struct Piece {
    /// Upper end of the piece, °C.
    pub(super) upto: f64,
    /// Coefficients in mV/°Cⁱ, constant term first.
    pub(super) powers: &'static [f64],
    /// `a0·exp(a1·(t − a2)²)` added to it, with a0 in mV, a1 in °C⁻², a2 in °C (type K only).
    pub(super) bump: Option<[f64; 3]>,
}

/// One type's reference function.
pub(super) struct Function {
    /// Lower end of the range, °C.
    pub(super) lowest: f64,
    /// Its pieces, from cold to hot.
    pub(super) pieces: &'static [Piece],
}

/// Type K.
pub(super) static K: Function = Function {
    lowest: -270.0,
    pieces: &[
        Piece {
            upto: 0.0,
            powers: &[
                0.0,
                0.039450128025,
                2.3622373598e-05,
                -3.2858906784e-07,
                -4.9904828777e-09,
                -6.7509059173e-11,
                -5.7410327428e-13,
                -3.1088872894e-15,
                -1.0451609365e-17,
                -1.9889266878e-20,
                -1.6322697486e-23,
            ],
            bump: None,
        },
        Piece {
            upto: 1372.0,
            powers: &[
                -0.017600413686,
                0.038921204975,
                1.8558770032e-05,
                -9.9457592874e-08,
                3.1840945719e-10,
                -5.6072844889e-13,
                5.6075059059e-16,
                -3.2020720003e-19,
                9.7151147152e-23,
                -1.2104721275e-26,
            ],
            bump: Some([0.1185976, -0.0001183432, 126.9686]),
        },
    ],
};

/// Type N.
pub(super) static N: Function = Function {
    lowest: -270.0,
    pieces: &[
        Piece {
            upto: 0.0,
            powers: &[
                0.0,
                0.026159105962,
                1.0957484228e-05,
                -9.3841111554e-08,
                -4.6412039759e-11,
                -2.6303357716e-12,
                -2.2653438003e-14,
                -7.6089300791e-17,
                -9.3419667835e-20,
            ],
            bump: None,
        },
        Piece {
            upto: 1300.0,
            powers: &[
                0.0,
                0.025929394601,
                1.571014188e-05,
                4.3825627237e-08,
                -2.5261169794e-10,
                6.4311819339e-13,
                -1.0063471519e-15,
                9.9745338992e-19,
                -6.0863245607e-22,
                2.0849229339e-25,
                -3.0682196151e-29,
            ],
            bump: None,
        },
    ],
};

/// Type J.
pub(super) static J: Function = Function {
    lowest: -210.0,
    pieces: &[
        Piece {
            upto: 760.0,
            powers: &[
                0.0,
                0.050381187815,
                3.047583693e-05,
                -8.568106572e-08,
                1.3228195295e-10,
                -1.7052958337e-13,
                2.0948090697e-16,
                -1.2538395336e-19,
                1.5631725697e-23,
            ],
            bump: None,
        },
        Piece {
            upto: 1200.0,
            powers: &[
                296.45625681,
                -1.4976127786,
                0.0031787103924,
                -3.1847686701e-06,
                1.5720819004e-09,
                -3.0691369056e-13,
            ],
            bump: None,
        },
    ],
};

/// Type E.
pub(super) static E: Function = Function {
    lowest: -270.0,
    pieces: &[
        Piece {
            upto: 0.0,
            powers: &[
                0.0,
                0.058665508708,
                4.5410977124e-05,
                -7.7998048686e-07,
                -2.5800160843e-08,
                -5.9452583057e-10,
                -9.3214058667e-12,
                -1.0287605534e-13,
                -8.0370123621e-16,
                -4.3979497391e-18,
                -1.6414776355e-20,
                -3.9673619516e-23,
                -5.5827328721e-26,
                -3.4657842013e-29,
            ],
            bump: None,
        },
        Piece {
            upto: 1000.0,
            powers: &[
                0.0,
                0.05866550871,
                4.5032275582e-05,
                2.8908407212e-08,
                -3.3056896652e-10,
                6.502440327e-13,
                -1.9197495504e-16,
                -1.2536600497e-18,
                2.1489217569e-21,
                -1.4388041782e-24,
                3.5960899481e-28,
            ],
            bump: None,
        },
    ],
};

/// Type T.
pub(super) static T: Function = Function {
    lowest: -270.0,
    pieces: &[
        Piece {
            upto: 0.0,
            powers: &[
                0.0,
                0.038748106364,
                4.4194434347e-05,
                1.1844323105e-07,
                2.0032973554e-08,
                9.0138019559e-10,
                2.2651156593e-11,
                3.6071154205e-13,
                3.8493939883e-15,
                2.8213521925e-17,
                1.4251594779e-19,
                4.8768662286e-22,
                1.079553927e-24,
                1.3945027062e-27,
                7.9795153927e-31,
            ],
            bump: None,
        },
        Piece {
            upto: 400.0,
            powers: &[
                0.0,
                0.038748106364,
                3.329222788e-05,
                2.0618243404e-07,
                -2.1882256846e-09,
                1.0996880928e-11,
                -3.0815758772e-14,
                4.547913529e-17,
                -2.7512901673e-20,
            ],
            bump: None,
        },
    ],
};

/// Type R.
pub(super) static R: Function = Function {
    lowest: -50.0,
    pieces: &[
        Piece {
            upto: 1064.18,
            powers: &[
                0.0,
                0.00528961729765,
                1.39166589782e-05,
                -2.38855693017e-08,
                3.56916001063e-11,
                -4.62347666298e-14,
                5.00777441034e-17,
                -3.73105886191e-20,
                1.57716482367e-23,
                -2.81038625251e-27,
            ],
            bump: None,
        },
        Piece {
            upto: 1664.5,
            powers: &[
                2.95157925316,
                -0.00252061251332,
                1.59564501865e-05,
                -7.64085947576e-09,
                2.05305291024e-12,
                -2.93359668173e-16,
            ],
            bump: None,
        },
        Piece {
            upto: 1768.1,
            powers: &[
                152.232118209,
                -0.268819888545,
                0.000171280280471,
                -3.45895706453e-08,
                -9.34633971046e-15,
            ],
            bump: None,
        },
    ],
};

/// Type S.
pub(super) static S: Function = Function {
    lowest: -50.0,
    pieces: &[
        Piece {
            upto: 1064.18,
            powers: &[
                0.0,
                0.00540313308631,
                1.2593428974e-05,
                -2.32477968689e-08,
                3.22028823036e-11,
                -3.31465196389e-14,
                2.55744251786e-17,
                -1.25068871393e-20,
                2.71443176145e-24,
            ],
            bump: None,
        },
        Piece {
            upto: 1664.5,
            powers: &[
                1.32900444085,
                0.00334509311344,
                6.54805192818e-06,
                -1.64856259209e-09,
                1.29989605174e-14,
            ],
            bump: None,
        },
        Piece {
            upto: 1768.1,
            powers: &[
                146.628232636,
                -0.258430516752,
                0.000163693574641,
                -3.30439046987e-08,
                -9.43223690612e-15,
            ],
            bump: None,
        },
    ],
};

/// Type B.
pub(super) static B: Function = Function {
    lowest: 0.0,
    pieces: &[
        Piece {
            upto: 630.615,
            powers: &[
                0.0,
                -0.00024650818346,
                5.9040421171e-06,
                -1.3257931636e-09,
                1.5668291901e-12,
                -1.694452924e-15,
                6.2990347094e-19,
            ],
            bump: None,
        },
        Piece {
            upto: 1820.0,
            powers: &[
                -3.8938168621,
                0.02857174747,
                -8.4885104785e-05,
                1.5785280164e-07,
                -1.6835344864e-10,
                1.1109794013e-13,
                -4.4515431033e-17,
                9.8975640821e-21,
                -9.3791330289e-25,
            ],
            bump: None,
        },
    ],
};

/// Where the type B function stops falling and begins to rise, °C: the root of its derivative,
/// computed with `scipy.optimize.brentq` from the coefficients above.
pub(super) const B_TURNS_AT: f64 = 21.020261884768555;
