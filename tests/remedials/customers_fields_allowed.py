"""The table that `customers_fields` speaks of: what pages, documents and classes of customers may hold."""

PAGES: dict[str, str] = {
    "jobsite/people/templates/people/no_such_link.html": """
        firm.dial firm.email firm.name firm.phone
    """,
    "jobsite/templates/400.html": """
    """,
    "jobsite/templates/403_csrf.html": """
    """,
    "jobsite/templates/500.html": """
    """,
    "jobsite/templates/_files.html": """
        files.csv files.xlsx
    """,
    "remedials/due/templates/due/_ring.html": """
        firm.dial firm.name firm.phone
    """,
    "remedials/due/templates/due/_stops.html": """
    """,
    "remedials/due/templates/due/no_such_link.html": """
        firm.name
    """,
    "remedials/due/templates/due/stop.html": """
        about firm.name standing
    """,
    "remedials/quotes/templates/quotes/customer/_about.html": """
        line.danger line.mark line.means line.notes line.price line.where note price
    """,
    "remedials/quotes/templates/quotes/customer/_answer.html": """
        answer.begin answer.begin_no answer.fingerprint answer.groups answer.how answer.id answer.name
        answer.note answer.order_number answer.recorder answer.reverse answer.rights answer.total.first
        answer.total.more answer.version answer.when answer.yes group group.head group.lines group.yes line
        line.price line.why line.words words
    """,
    "remedials/quotes/templates/quotes/customer/_field.html": """
        field field.auto_id field.errors field.id_for_label field.label
    """,
    "remedials/quotes/templates/quotes/customer/_line.html": """
        checked chosen label line.became.words line.error line.fields.ask line.fields.errors.ask
        line.fields.errors.no line.fields.no line.fields.says line.fields.why line.key line.open
        line.pence.net line.pence.pay line.threads line.words page.open thread value
    """,
    "remedials/quotes/templates/quotes/customer/_price.html": """
        price.first price.more
    """,
    "remedials/quotes/templates/quotes/customer/_rights.html": """
        rights.default rights.form rights.words words
    """,
    "remedials/quotes/templates/quotes/customer/_ring.html": """
        firm.dial firm.email firm.name firm.phone
    """,
    "remedials/quotes/templates/quotes/customer/_thread.html": """
        firm.name remark remark.ours remark.text remark.when remark.who thread.open thread.remarks
        thread.reply_by
    """,
    "remedials/quotes/templates/quotes/customer/look_over.html": """
        ask ask.line ask.text at error field firm.name form.begin.value form.errors form.hidden_rows
        form.name form.non_field_errors form.note form.order_number group group.lines group.will group.yes
        line line.price line.words name page.asks page.groups page.left page.rates page.total.first
        page.total.more page.total.note page.yes party.name rate rate.net rate.vat rate.words rights
        rights.begin said.number said.reverse_charge said.reverse_charge_words said.vat_registered
        said.version value words
    """,
    "remedials/quotes/templates/quotes/customer/passed_on.html": """
        at firm.name number party.name
    """,
    "remedials/quotes/templates/quotes/customer/quote.html": """
        answer ask.id ask.name ask.non_field_errors ask.text at change error field firm.name
        form.fingerprint form.id given line out out.needs out.net out.paid out.pay out.price out.words
        page.all.first page.all.more page.all.note page.answers page.before page.call_outs page.changed
        page.changed.number page.changed.on page.changed.rows page.fingerprint page.for page.limits
        page.lines page.number page.on page.open page.over page.pass_to page.places page.rights
        page.said.consumer page.said.energy_note page.said.name page.said.reverse_charge
        page.said.reverse_charge_words page.said.text_after page.said.text_before page.said.variation_of
        page.said.vat_registered page.stands page.threads page.until page.version party party.id party.name
        party.reached place price rights row row.changes row.name row.what sentence thread wrong
    """,
    "remedials/status/templates/status/_danger.html": """
    """,
    "remedials/status/templates/status/_head.html": """
        back head.address head.title head.today
    """,
    "remedials/status/templates/status/_item.html": """
        item.advice item.basis item.by item.cut item.first_recorded item.late item.mark item.meaning
        item.notice item.number item.photos item.photos_more item.says item.text item.where item.works photo
        photo.alt photo.height photo.id photo.width photo.words sentence work work.stands work.what
    """,
    "remedials/status/templates/status/_portfolio_list.html": """
        at.all at.units href label line line.by_late line.by_words line.getting_in line.level line.marks
        line.name line.next_basis line.next_late line.next_words line.place line.says line.tried line.unit
        narrowed page.fitting page.lines page.title page.units pages unread words
    """,
    "remedials/status/templates/status/_portfolio_said.html": """
        page.danger_now page.first_words page.today sentence
    """,
    "remedials/status/templates/status/_portfolio_summary.html": """
        at.years code code.closed code.late code.made_safe code.mark code.means code.open count name
        page.codes page.figures page.inspections page.steps page.worst page.worst_more page.year_from place
        place.by place.late place.name place.says words year years
    """,
    "remedials/status/templates/status/_ring.html": """
        firm.dial firm.email firm.name firm.phone
    """,
    "remedials/status/templates/status/_standing.html": """
        due due.basis due.due due.late due.unit limit limit.inspected limit.what limit.why page.law
        page.limitations page.next page.reports report report.by report.complete report.confirmed
        report.extent report.outcome report.outcome_why report.outcome_written report.title sentence
    """,
    "remedials/status/templates/status/_supply.html": """
        supply.drawing supply.key supply.listing words
    """,
    "remedials/status/templates/status/check.html": """
        checked checked.sha256 firm.name kind kinds most not_here sentence sentences tone wrong
    """,
    "remedials/status/templates/status/copies/shared.html": """
        copy.complete copy.extent copy.items copy.limits copy.number copy.place copy.report firm.name head
        in_force item item.code item.item item.mark item.meaning item.number item.stands item.text
        item.where item.works limit limit.what limit.why made words work work.done work.work
    """,
    "remedials/status/templates/status/drawing.html": """
        firm.name head page.head page.head.danger_now page.head.first_words.0 page.head.mood page.head.title
        page.supply supply
    """,
    "remedials/status/templates/status/no_document.html": """
        firm.name sentence
    """,
    "remedials/status/templates/status/not_here.html": """
        firm.name
    """,
    "remedials/status/templates/status/portfolio.html": """
        at.all at.summary field field.auto_id field.errors field.id_for_label field.label filter
        filter.errors filter.in_words firm.name narrowed page.title
    """,
    "remedials/status/templates/status/portfolio_summary.html": """
        at.document at.list firm.name page.title
    """,
    "remedials/status/templates/status/privacy/public.html": """
        address articles firm.dial firm.email firm.name firm.phone forgotten line one one.label one.why row
        row.holds row.label row.period row.why rows stays
    """,
    "remedials/status/templates/status/reports.html": """
        firm.name head page.head page.head.danger_now page.head.first_words.0 page.head.mood page.head.title
    """,
    "remedials/status/templates/status/site.html": """
        document document.address document.made document.says document.size document.title firm.name head
        item page.documents page.done page.done_count page.done_more page.done_next page.head
        page.head.danger_now page.head.first_words page.head.mood page.head.title page.law_of_items
        page.open page.open_count page.open_more page.open_next page.reports page.standing_more page.supply
        page.supply.drawing sentence supply
    """,
    "remedials/status/templates/status/some.html": """
        firm.name head item page.after page.before page.head page.head.danger_now page.head.first_words.0
        page.head.mood page.head.title page.items page.law page.title page.which
    """,
    "remedials/visits/templates/visits/customer/_answer.html": """
        choice choice.choice_label choice.id_for_label choice.tag field field.name form form.answered
        form.answered.errors last
    """,
    "remedials/visits/templates/visits/customer/_field.html": """
        field field.auto_id field.errors field.id_for_label field.label
    """,
    "remedials/visits/templates/visits/customer/_ring.html": """
        firm.dial firm.name firm.phone
    """,
    "remedials/visits/templates/visits/customer/asked.html": """
        error firm.name form.errors form.non_field_errors last last.at last.said last.who last.words outage
        over site.name site.one_line when
    """,
    "remedials/visits/templates/visits/times.html": """
        at field field.id_for_label field.label firm.name firm.phone none page.outage page.place
        page.some_went page.stands page.times page.until page.work sentence time time.id time.words words
        wrong
    """,
    "remedials/visits/templates/visits/times_confirm.html": """
        at field field.id_for_label field.label firm.name form form.errors place time words
    """,
}

DOCUMENTS: dict[str, str] = {
    "inspections/documents/covering.typ": """
        facts.basis facts.caution facts.firm facts.kept facts.on facts.place facts.report facts.to
        facts.with
    """,
    "inspections/documents/notice.typ": """
        facts.advised facts.answer facts.firm facts.found facts.given facts.refused facts.site facts.why
        one.code one.held one.meaning one.more one.number one.photos one.text one.where photo.alt
        photo.caption photo.name
    """,
    "jobsite/premises/documents/chart.typ": """
        facts.address facts.board facts.by facts.count facts.doubts facts.layout facts.particulars
        facts.site facts.sources facts.verified facts.ways plan.flipped plan.paper plan.size_pt row.known
        row.verified source.at source.isolate source.kind source.name
    """,
    "remedials/due/documents/closing-letter.typ": """
        facts.caution facts.dangers facts.firm facts.greeting facts.keys facts.limits facts.next
        facts.no_longer facts.nothing facts.on facts.opening facts.others facts.papers facts.ring
        facts.signed facts.to facts.waiting one.advice one.code one.coded one.held one.look one.meaning
        one.notice one.number one.since one.text one.where one.work
    """,
    "remedials/quotes/documents/quote.typ": """
        facts.begin facts.cancellation facts.columns facts.dangers facts.energy_note facts.firm facts.form
        facts.groups facts.name facts.optional facts.particulars facts.phone facts.reverse_charge_words
        facts.slip_head facts.text_after facts.text_before facts.title facts.to facts.total_words
        facts.valid_until group.rows group.words row.code row.danger row.main row.notes row.number row.sum
        row.where row.words
    """,
    "remedials/status/documents/completion.typ": """
        facts.earlier facts.firm facts.groups facts.not_known facts.on facts.open facts.place facts.reports
        group.items group.title one.after one.at one.before one.code one.first one.item one.meaning one.more
        one.number one.safe one.steps one.text one.where one.works photo.alt photo.caption photo.name
        report.complete report.outcome report.reference report.title row.basis row.limit row.value
        row.verdict row.what row.where work.facts work.readings work.what
    """,
    "remedials/status/documents/copy.typ": """
        facts.complete facts.extent facts.firm facts.items facts.limits facts.place facts.report one.code
        one.item one.meaning one.number one.stands one.text one.what one.where one.why one.works work.done
        work.work
    """,
    "remedials/status/documents/portfolio-summary.typ": """
        facts.danger facts.figures facts.firm facts.inspections facts.of facts.on facts.said facts.steps
        facts.worst facts.worst_more facts.year_from
    """,
    "remedials/status/documents/standing.typ": """
        due.basis due.due due.late due.unit facts.closed_more facts.counts facts.firm facts.first_words
        facts.next facts.on facts.open facts.open_more facts.place facts.reports limit.inspected limit.what
        limit.why one.advised one.age one.basis one.by one.code one.late one.meaning one.notice one.number
        one.safe one.text one.undecided one.waits one.where one.words one.works report.by report.complete
        report.extent report.outcome report.outcome_why report.outcome_written report.title work.stands
        work.what
    """,
    "remedials/status/documents/year.typ": """
        facts.codes facts.declined facts.firm facts.inspections facts.next facts.notices facts.of facts.on
        facts.open facts.shut facts.so_far facts.span facts.units facts.words found.more one.answer
        one.basis one.began one.by one.closed one.code one.codes one.found one.how one.kind one.late
        one.left one.means one.number one.on one.outcome one.still one.visits one.where one.work
    """,
    "remedials/visits/documents/evidence.typ": """
        facts.firm facts.letters facts.particulars facts.rows row.at row.facts row.how row.number row.photo
    """,
    "remedials/visits/documents/letter.typ": """
        facts.answer facts.danger facts.ending facts.firm facts.greeting facts.on facts.paragraphs
        facts.signed facts.times facts.to facts.work
    """,
    "remedials/works/documents/confirmation.typ": """
        facts.basis facts.caution facts.completed facts.firm facts.on facts.open facts.place facts.report
        facts.to facts.with one.code one.done one.item one.text one.where
    """,
}

SHOWN: dict[str, dict[str, str]] = {
    "remedials.status.portfolio.shown": {
        "Line": """
            by by_late by_words c1 c2 c3 fi getting_in items last_tried level marks name next next_basis
            next_late next_words place says shut_out site tried uncoded unit
        """,
        "OfCode": """
            closed code late made_safe mark means open
        """,
        "Place": """
            by late name says
        """,
        "Portfolio": """
            danger_now firm first first_words fitting lines pages title today units
        """,
        "Summary": """
            codes danger_now figures firm first_words inspections steps title today worst worst_more year_from
        """,
    },
    "remedials.status.proof.shown": {
        "DocumentLine": """
            address made says size title
        """,
    },
    "remedials.status.shown": {
        "Drawn": """
            head supply
        """,
        "Firm": """
            email name phone
        """,
        "Head": """
            address danger_now firm first_words mood title today
        """,
        "Item": """
            advice basis by by_law cut first_recorded late mark meaning notice number photos photos_more says
            text where works
        """,
        "Limitation": """
            inspected what why
        """,
        "NextInspection": """
            basis by_law due late unit
        """,
        "Photo": """
            alt height id width words
        """,
        "Report": """
            by complete confirmed extent outcome outcome_why outcome_written title
        """,
        "Some": """
            after before head items title which
        """,
        "Standing": """
            head limitations next reports
        """,
        "StatusPage": """
            documents done done_more head limitations next open open_more reports standing_more supply
        """,
        "Supply": """
            drawing key listing
        """,
        "Work": """
            stands what
        """,
    },
}
