//! Numbers by how much they matter: the largest comes out first.

const OUT: u32 = u32::MAX;

pub(super) struct Heap {
    pub(super) weights: Vec<f32>,
    heap: Vec<u32>,
    place: Vec<u32>,
}

impl Heap {
    pub(super) fn new(n: usize) -> Self {
        Self { weights: vec![0.0; n], heap: vec![], place: vec![OUT; n] }
    }

    /// Adds to a weight; the number comes in if it was out.
    pub(super) fn add(&mut self, item: u32, weight: f32) {
        self.weights[item as usize] += weight;
        self.insert(item);
        self.rise(self.place[item as usize] as usize);
    }

    pub(super) fn insert(&mut self, item: u32) {
        if self.place[item as usize] == OUT {
            self.place[item as usize] = self.heap.len() as u32;
            self.heap.push(item);
            self.rise(self.heap.len() - 1);
        }
    }

    pub(super) fn pop(&mut self) -> Option<u32> {
        let last = self.heap.pop()?;
        let Some(&first) = self.heap.first() else {
            self.place[last as usize] = OUT;
            return Some(last);
        };
        self.place[first as usize] = OUT;
        self.heap[0] = last;
        self.place[last as usize] = 0;
        self.sink(0);
        Some(first)
    }

    /// Multiplies all weights: their order stays.
    pub(super) fn scale(&mut self, by: f32) {
        for weight in &mut self.weights {
            *weight *= by;
        }
    }

    fn weight(&self, at: usize) -> f32 {
        self.weights[self.heap[at] as usize]
    }

    fn rise(&mut self, mut at: usize) {
        while at > 0 && self.weight(at) > self.weight((at - 1) / 2) {
            self.swap(at, (at - 1) / 2);
            at = (at - 1) / 2;
        }
    }

    fn sink(&mut self, mut at: usize) {
        loop {
            let mut child = 2 * at + 1;
            if child + 1 < self.heap.len() && self.weight(child + 1) > self.weight(child) {
                child += 1;
            }
            if child >= self.heap.len() || self.weight(child) <= self.weight(at) {
                return;
            }
            self.swap(at, child);
            at = child;
        }
    }

    fn swap(&mut self, one: usize, two: usize) {
        self.heap.swap(one, two);
        self.place[self.heap[one] as usize] = one as u32;
        self.place[self.heap[two] as usize] = two as u32;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_heaviest_comes_out_first_and_only_once() {
        let mut heap = Heap::new(6);
        for (item, weight) in [(3, 1.0), (0, 4.0), (5, 2.0), (3, 2.5), (1, 0.5)] {
            heap.add(item, weight);
        }
        heap.scale(0.5);
        heap.insert(3);
        let out: Vec<u32> = std::iter::from_fn(|| heap.pop()).collect();
        assert_eq!(out, [0, 3, 5, 1]);
        // What was out comes back with the weight it had.
        heap.insert(1);
        heap.insert(5);
        assert_eq!((heap.pop(), heap.pop(), heap.pop()), (Some(5), Some(1), None));
    }
}
