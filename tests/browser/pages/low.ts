/** The treatment page of a low, and its short forms. */
import { Screen } from './screen.ts'

export class LowPage extends Screen {
  readonly heading = /^Low in bed/

  /** The two questions at the bedside; `iv`: "working" or "none". */
  async look(answers: { readonly swallowing: string; readonly iv: string }): Promise<void> {
    await this.pick('swallowing', answers.swallowing)
    await this.pick('iv', answers.iv)
    await this.press('What to give')
    await this.main.locator('.dose-number, .loud').first().waitFor()
  }

  /** "20 g": the text in very large type. */
  async amount(): Promise<string> {
    return (await this.main.locator('.low-now .dose-number').innerText()).replace(/\s+/g, ' ').trim()
  }

  /** "14:58 left", counted by the script. */
  async counting(): Promise<string> {
    return (await this.main.locator('.low-now .counting').first().innerText()).trim()
  }

  /** The text in large type: the heading of the present step. */
  async now(): Promise<string> {
    return (await this.main.locator('#now-heading').innerText()).trim()
  }

  async line(): Promise<readonly string[]> {
    return (await this.main.getByRole('row').allInnerTexts()).slice(1).map((row) => row.replace(/\s+/g, ' ').trim())
  }
}

export class LowFormPage extends Screen {
  readonly heading =
    /^(Look at the patient|What was given|Level 3: what was found|Emergency call|Tell the prescriber of the low|Longer-acting carbohydrate|Insulin after the low: ask the prescriber|Close the low event)$/
}
