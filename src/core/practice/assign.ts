/**
 * The cheapest assignment of rows to columns of a square price matrix (Hungarian method with potentials,
 * as in Kuhn 1955 and Munkres 1957; from memory). Cubic in the size, which is at most a few dozen here.
 * @param price finite prices, `price[row][column]`.
 * @returns the column of each row.
 */
export function cheapestAssignment(price: readonly (readonly number[])[]): number[] {
  const size = price.length;
  const rowPotential = new Array<number>(size + 1).fill(0);
  const columnPotential = new Array<number>(size + 1).fill(0);
  /** Row assigned to each column; column 0 stands for "the row being placed". */
  const rowOf = new Array<number>(size + 1).fill(0);
  for (let row = 1; row <= size; row++) {
    rowOf[0] = row;
    let column = 0;
    const cameFrom = new Array<number>(size + 1).fill(0);
    const slack = new Array<number>(size + 1).fill(Infinity);
    const visited = new Array<boolean>(size + 1).fill(false);
    do {
      visited[column] = true;
      const here = rowOf[column]!;
      let step = Infinity;
      let next = 0;
      for (let c = 1; c <= size; c++) {
        if (visited[c]) continue;
        const reduced = price[here - 1]![c - 1]! - rowPotential[here]! - columnPotential[c]!;
        if (reduced < slack[c]!) {
          slack[c] = reduced;
          cameFrom[c] = column;
        }
        if (slack[c]! < step) {
          step = slack[c]!;
          next = c;
        }
      }
      for (let c = 0; c <= size; c++) {
        if (visited[c]) {
          rowPotential[rowOf[c]!]! += step;
          columnPotential[c]! -= step;
        } else slack[c]! -= step;
      }
      column = next;
    } while (rowOf[column] !== 0);
    while (column !== 0) {
      const before = cameFrom[column]!;
      rowOf[column] = rowOf[before]!;
      column = before;
    }
  }
  const columnOf = new Array<number>(size);
  for (let c = 1; c <= size; c++) columnOf[rowOf[c]! - 1] = c - 1;
  return columnOf;
}
