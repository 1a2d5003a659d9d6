/** The handover sheet: what the next shift must know about each bed. */
import { handoverPage, printHandover } from '../../views/handover/page.ts'
import { page, redirect, type PageResponse } from '../http/page.ts'
import { NURSES } from '../http/roles.ts'
import { route, type Server } from '../http/route.ts'
import { BEDS_QUERY, type BedsRequest } from '../bedside/beds-taken.ts'
import { handoverView } from './load.ts'
import type { HandoverView } from '../../views/handover/page.ts'

export function registerHandover(server: Server): void {
  route(
    server,
    { method: 'GET', url: '/handover', roles: NURSES, query: BEDS_QUERY },
    onWard((ctx, view) => page(ctx, 200, { title: 'Handover', body: handoverPage(view) })),
  )
  route(
    server,
    { method: 'GET', url: '/print/handover', roles: NURSES, query: BEDS_QUERY },
    onWard((ctx, view) => page(ctx, 200, { title: 'Handover', body: printHandover(view), chrome: 'print' })),
  )
}

/** A person without a ward chooses one first. */
function onWard(answer: (ctx: BedsRequest, view: HandoverView) => PageResponse): (ctx: BedsRequest) => PageResponse {
  return (ctx) => {
    const view = handoverView(ctx)
    return view === undefined ? redirect(ctx, '/ward') : answer(ctx, view)
  }
}
