//! Clamps of the module that touch their neighbours: then its outputs meet at more than the supply, and the
//! whole network is solved at once, node by node (any circuits textbook: nodal analysis).

use super::change_over::ChangeOver;
use super::clamp::ClampCircuit;

/// The nodes: the supply's bus, the four commons, and the module's ends of the eight leads.
const BUS: usize = 0;
const COMMON: usize = 1;
const END: usize = 5;
const NODES: usize = 13;

/// From every node to ground, siemens: a node that nothing else holds stands at zero.
const HELD_S: f64 = 1e-15;
/// Through less than this, ohms, a clamp's capacitances follow the next clamp at once: 0.8 nF in a
/// microsecond, the shortest time that the bench's clock knows.
const AT_ONCE_OHM: f64 = 1_250.0;

/// The voltages of the network.
#[derive(Clone, Copy, Debug)]
pub struct Voltages {
    /// At the supply, volts.
    pub bus_v: f64,
    /// At the module's end of the lead of each of its contacts, volts.
    pub ends_v: [f64; 8],
}

/// What joins each clamp of the module to the next one, siemens.
#[derive(Clone, Debug)]
pub struct Touching {
    next_s: [f64; 7],
}

impl Touching {
    /// Whatever touches; `None` where nothing does.
    pub fn of(next_s: &[f64; 7]) -> Option<Self> {
        next_s.iter().any(|s| *s > 0.0).then_some(Touching { next_s: *next_s })
    }

    /// Those that touch are joined; what drives one of them drives the other, unless it takes time.
    pub fn join(&self, outputs: &[ChangeOver; 4], clamps: &mut [ClampCircuit; 8]) {
        // What is driven drives its neighbours upwards first, then downwards.
        for i in (0..7).chain((0..7).rev()).filter(|&i| self.next_s[i] > 0.0) {
            let [one, other] = [i, i + 1].map(|n| outputs[n / 2].contacts[n % 2].clamp);
            let drives = self.next_s[i] * AT_ONCE_OHM > 1.0;
            let is_driven = clamps[one].is_driven || clamps[other].is_driven;
            for clamp in [one, other] {
                clamps[clamp].is_joined = true;
                clamps[clamp].is_driven |= is_driven && drives;
            }
        }
    }

    /// All voltages. The supply is a voltage behind a resistance, or off.
    pub fn voltages(
        &self,
        supply: Option<(f64, f64)>,
        outputs: &[ChangeOver; 4],
        clamps: &[ClampCircuit; 8],
    ) -> Voltages {
        let mut network = Network::default();
        if let Some((volt, ohm)) = supply {
            network.grounded(BUS, 1.0 / ohm, volt / ohm);
        }
        for (k, output) in outputs.iter().enumerate() {
            network.between(BUS, COMMON + k, output.common_s);
            for (p, contact) in output.contacts.iter().enumerate() {
                let (end, clamp) = (END + 2 * k + p, &clamps[contact.clamp]);
                network.between(COMMON + k, end, contact.through_s());
                network.between(BUS, end, clamp.bypass_s());
                let load = clamp.at_module();
                network.grounded(end, load.g, -load.i);
            }
        }
        for (i, siemens) in self.next_s.into_iter().enumerate() {
            network.between(END + i, END + i + 1, siemens);
        }
        let volts = network.solved();
        Voltages { bus_v: volts[BUS], ends_v: core::array::from_fn(|i| volts[END + i]) }
    }
}

/// Conductances between the nodes, and the current into each.
#[derive(Clone, Debug, Default)]
struct Network {
    siemens: [[f64; NODES]; NODES],
    ampere: [f64; NODES],
}

impl Network {
    fn between(&mut self, p: usize, q: usize, siemens: f64) {
        self.siemens[p][p] += siemens;
        self.siemens[q][q] += siemens;
        self.siemens[p][q] -= siemens;
        self.siemens[q][p] -= siemens;
    }

    fn grounded(&mut self, node: usize, siemens: f64, ampere: f64) {
        self.siemens[node][node] += siemens;
        self.ampere[node] += ampere;
    }

    /// The voltages at the nodes. Elimination without a search for pivots: each conductance on the diagonal
    /// is the sum of those beside it and more.
    fn solved(mut self) -> [f64; NODES] {
        let (g, i) = (&mut self.siemens, &mut self.ampere);
        for n in 0..NODES {
            g[n][n] += HELD_S;
            let row = g[n];
            for m in n + 1..NODES {
                let share = g[m][n] / row[n];
                if share != 0.0 {
                    for (below, above) in g[m][n..].iter_mut().zip(&row[n..]) {
                        *below -= share * above;
                    }
                    i[m] -= share * i[n];
                }
            }
        }
        let mut volts = [0.0; NODES];
        for n in (0..NODES).rev() {
            let others: f64 = (n + 1..NODES).map(|m| g[n][m] * volts[m]).sum();
            volts[n] = (i[n] - others) / g[n][n];
        }
        volts
    }
}
