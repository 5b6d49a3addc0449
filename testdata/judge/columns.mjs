// Turns record folders into flat columns that NumPy reads: one line of JSON for each
// table, then its numbers. Standard input names a record and a target on each line.
import { readFileSync, writeFileSync } from 'node:fs'
import { asyncBufferFromFile, parquetMetadataAsync, parquetRead } from 'hyparquet'

const tables = ['samples', 'edges', 'marks', 'asks']
const wanted = /^at_ns$|position|rate|torque/ // of the samples; the rest is not looked at

function joined(chunks = []) {
  return chunks.sort((a, b) => a.rowStart - b.rowStart).flatMap(c => Array.from(c.columnData))
}

async function table(folder, name) {
  const file = await asyncBufferFromFile(`${folder}/${name}.parquet`)
  const metadata = await parquetMetadataAsync(file)
  const kept = metadata.schema.slice(1).filter(s => name !== 'samples' || wanted.test(s.name))
  const read = {}
  const onChunk = c => (read[c.columnName] ??= []).push(c)
  await parquetRead({ file, metadata, columns: kept.map(s => s.name), onChunk })
  const head = { table: name, rows: Number(metadata.num_rows), numbers: [], words: {} }
  const parts = []
  for (const { name: column, type } of kept) {
    const values = joined(read[column])
    if (type === 'BYTE_ARRAY') { head.words[column] = values; continue }
    const whole = type === 'INT64'
    head.numbers.push([column, whole ? '<i8' : '<f8'])
    parts.push(whole ? BigInt64Array.from(values) : Float64Array.from(values))
  }
  return [Buffer.from(JSON.stringify(head) + '\n'), ...parts.map(p => Buffer.from(p.buffer))]
}

for (const line of readFileSync(0, 'utf8').split('\n').filter(Boolean)) {
  const [folder, target] = line.split('\t')
  const parts = []
  for (const name of tables) parts.push(...await table(folder, name))
  writeFileSync(target, Buffer.concat(parts))
}
