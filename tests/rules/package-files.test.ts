/** The small files beside package.json agree with it, with the configuration and with each other. */
import { describe, expect, it } from 'vitest'
import { defaultConfig, ENVIRONMENT_NAMES, readConfig } from '../../server/config.ts'
import { textOf } from '../support/house.ts'

type Manifest = { version: string; private: boolean; license: string; engines: { node: string } }
const manifest = JSON.parse(textOf('package.json')) as Manifest

/** The assignments of a settings file, in order. */
const assignments = (text: string): readonly (readonly [string, string])[] =>
  text.split('\n').flatMap((line) => {
    const [, name, value] = /^([A-Z_]+)=(.*)$/.exec(line) ?? []
    return name === undefined || value === undefined ? [] : [[name, value] as const]
  })

describe('.env.example', () => {
  const settings = assignments(textOf('.env.example'))

  it('is read: a setting, an empty one, no comment', () => {
    expect(assignments('A_B=1=2\n# C=3\nD=\ne=4')).toEqual([
      ['A_B', '1=2'],
      ['D', ''],
    ])
  })

  it('has every setting of the service and no other, once', () => {
    expect(settings.map(([name]) => name)).toEqual(ENVIRONMENT_NAMES)
  })

  it('gives each one its default', () => {
    expect(readConfig(Object.fromEntries(settings))).toEqual({ ok: true, value: defaultConfig() })
  })

  it('is copied to a file that git ignores', () => {
    expect(textOf('.gitignore').split('\n')).toContain('.env')
  })
})

describe('the versions', () => {
  it('.nvmrc is the oldest Node that package.json allows', () => {
    expect(manifest.engines.node.split(' || ')[0]).toBe(`${textOf('.nvmrc').trim()}.x`)
  })

  it('README names every Node that package.json allows', () => {
    expect(textOf('README.md')).toContain(
      `Node ${manifest.engines.node.replaceAll('.x', '').replace(' || ', ' or ')} (`,
    )
  })

  it('the changelog has the version of package.json as its newest release, below what is not released', () => {
    const headings = [...textOf('CHANGELOG.md').matchAll(/^## (.+)$/gm)].map(([, heading = '']) => heading)
    expect(headings[0]).toBe('Unreleased')
    const releases = headings.slice(1)
    expect(releases.filter((release) => !/^\d+\.\d+\.\d+, 20\d\d-[01]\d-[0-3]\d$/.test(release))).toEqual([])
    expect(releases[0]?.split(', ')[0]).toBe(manifest.version)
    const dates = releases.map((release) => release.split(', ')[1] ?? '')
    expect(dates).toEqual([...dates].sort().reverse())
  })
})

describe('the license', () => {
  it('is the same in LICENSE and package.json: none until the owner chooses', () => {
    expect([manifest.license, manifest.private]).toEqual(['UNLICENSED', true])
    expect(textOf('LICENSE')).toMatch(/^Unlicensed\. All rights reserved\.\n/)
  })
})

describe('.editorconfig', () => {
  it('asks editors for the layout that Prettier writes', () => {
    const text = textOf('.editorconfig')
    const valueOf = (key: string): string | undefined => new RegExp(`^${key} = (.+)$`, 'm').exec(text)?.[1]
    expect(textOf('tests/prettier.config.js')).toContain(`printWidth: ${valueOf('max_line_length') ?? 'none'},`)
    expect([valueOf('indent_style'), valueOf('indent_size'), valueOf('end_of_line')]).toEqual(['space', '2', 'lf'])
  })
})
