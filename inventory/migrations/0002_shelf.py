import django.core.validators
import django.db.models.deletion
import inventory.reckoning.valuation
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('inventory', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='ColumnMatching',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('header_key', models.CharField(max_length=64, unique=True)),
                ('columns', models.JSONField()),
            ],
        ),
        migrations.CreateModel(
            name='Offer',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('their_code', models.CharField(blank=True, max_length=60, verbose_name='their article')),
                ('pack_thousandths', models.PositiveBigIntegerField(validators=[django.core.validators.MinValueValidator(1)])),
                ('pack_unit', models.CharField(max_length=3)),
                ('minimum_packs', models.PositiveIntegerField(default=1, validators=[django.core.validators.MinValueValidator(1)])),
                ('breaks', models.JSONField()),
                ('valid_from', models.DateField(blank=True, null=True)),
                ('valid_until', models.DateField(blank=True, null=True)),
            ],
            options={
                'ordering': ('item', 'supplier', 'id'),
            },
        ),
        migrations.CreateModel(
            name='Supplier',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.SlugField(max_length=40, unique=True)),
                ('name', models.CharField(max_length=120)),
                ('email', models.EmailField(blank=True, max_length=254)),
                ('note', models.TextField(blank=True)),
                ('currency', models.CharField(max_length=3)),
                ('rate_millionths', models.PositiveBigIntegerField(default=1000000, validators=[django.core.validators.MinValueValidator(1)])),
                ('lead_days', models.PositiveSmallIntegerField(validators=[django.core.validators.MaxValueValidator(365)])),
                ('lead_spread_days', models.PositiveSmallIntegerField(default=0, validators=[django.core.validators.MaxValueValidator(180)])),
                ('closed', models.JSONField(blank=True, default=list)),
                ('postage_minor', models.PositiveBigIntegerField(default=0)),
                ('postage_free_from_minor', models.PositiveBigIntegerField(blank=True, null=True)),
                ('minimum_order_minor', models.PositiveBigIntegerField(blank=True, null=True)),
                ('is_retired', models.BooleanField(default=False)),
            ],
            options={
                'ordering': ('name',),
            },
        ),
        migrations.AddField(
            model_name='stockmaterial',
            name='facts',
            field=models.JSONField(blank=True, default=dict),
        ),
        migrations.AddField(
            model_name='stockmaterial',
            name='photo',
            field=models.FileField(blank=True, upload_to='materials'),
        ),
        migrations.CreateModel(
            name='ImportSheet',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('filename', models.CharField(max_length=120)),
                ('rows', models.JSONField()),
                ('first_row', models.PositiveIntegerField(default=1)),
                ('columns', models.JSONField(default=dict)),
                ('made_at', models.DateTimeField(auto_now_add=True)),
                ('taken_at', models.DateTimeField(null=True)),
                ('made_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='KeptPlan',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('made_at', models.DateTimeField()),
                ('question', models.CharField(max_length=64)),
                ('document', models.JSONField()),
                ('ordered_at', models.DateTimeField(null=True)),
                ('made_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('-id',),
            },
        ),
        migrations.CreateModel(
            name='Posting',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(unique=True)),
                ('fingerprint', models.CharField(max_length=64)),
                ('kind', models.CharField(choices=[('receipt', 'Received'), ('issue', 'Issued'), ('return', 'Returned'), ('count', 'Counted'), ('scrap', 'Scrapped'), ('washing', 'Washed'), ('splitting', 'Split off')], max_length=10)),
                ('job', models.CharField(blank=True, max_length=40)),
                ('why', models.CharField(blank=True, max_length=200)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('-id',),
            },
        ),
        migrations.CreateModel(
            name='PriceRecord',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('unit_cost_millionths', models.BigIntegerField()),
                ('since', models.DateTimeField()),
                ('source', models.CharField(max_length=120)),
                ('material', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='price_records', to='inventory.stockmaterial')),
            ],
            options={
                'ordering': ('-since', '-id'),
            },
        ),
        migrations.CreateModel(
            name='PurchaseLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('their_code', models.CharField(blank=True, max_length=60)),
                ('packs', models.PositiveIntegerField()),
                ('pack_thousandths', models.PositiveBigIntegerField()),
                ('pack_unit', models.CharField(max_length=3)),
                ('quantity', models.PositiveBigIntegerField()),
                ('price_minor', models.PositiveBigIntegerField()),
                ('wanted_dye_lot', models.CharField(blank=True, max_length=60)),
                ('why', models.CharField(blank=True, max_length=300)),
                ('received', models.BigIntegerField(default=0)),
                ('is_closed', models.BooleanField(default=False)),
                ('offer', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='inventory.offer')),
            ],
            options={
                'ordering': ('id',),
            },
        ),
        migrations.CreateModel(
            name='Lot',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('received_on', models.DateField()),
                ('dye_lot', models.CharField(blank=True, max_length=60, verbose_name='dye or colour lot')),
                ('state', models.CharField(choices=[('ready', 'Ready'), ('raw', 'Raw, to be washed')], default='ready', max_length=5)),
                ('remnant_width_mm', models.PositiveIntegerField(null=True)),
                ('remnant_length_mm', models.PositiveIntegerField(null=True)),
                ('is_open', models.BooleanField(default=False)),
                ('place', models.CharField(blank=True, max_length=60, verbose_name='storage place')),
                ('note', models.CharField(blank=True, max_length=200)),
                ('on_hand', models.BigIntegerField(default=0)),
                ('from_lot', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='parts', to='inventory.lot')),
                ('purchase_line', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='lots', to='inventory.purchaseline')),
            ],
            options={
                'ordering': ('received_on', 'id'),
            },
        ),
        migrations.CreateModel(
            name='PurchaseOrder',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveIntegerField(unique=True)),
                ('state', models.CharField(choices=[('draft', 'Draft'), ('placed', 'Placed'), ('partly', 'Partly received'), ('received', 'Received'), ('cancelled', 'Cancelled')], default='draft', max_length=10)),
                ('currency', models.CharField(max_length=3)),
                ('rate_millionths', models.PositiveBigIntegerField()),
                ('postage_minor', models.PositiveBigIntegerField(default=0)),
                ('made_on', models.DateField()),
                ('placed_on', models.DateField(null=True)),
                ('expected_on', models.DateField()),
                ('received_on', models.DateField(null=True)),
                ('note', models.TextField(blank=True)),
                ('version', models.PositiveIntegerField(default=1)),
                ('made_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('supplier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='orders', to='inventory.supplier')),
            ],
            options={
                'ordering': ('-number',),
            },
        ),
        migrations.AddField(
            model_name='purchaseline',
            name='order',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='lines', to='inventory.purchaseorder'),
        ),
        migrations.CreateModel(
            name='Reservation',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('reference', models.CharField(max_length=40, unique=True)),
                ('title', models.CharField(max_length=200)),
                ('link', models.CharField(blank=True, max_length=200)),
                ('is_firm', models.BooleanField(default=False)),
                ('needed_by', models.DateField()),
                ('expires_on', models.DateField(null=True)),
                ('state', models.CharField(choices=[('open', 'Kept'), ('released', 'Released'), ('done', 'Used up')], default='open', max_length=10)),
                ('why', models.CharField(blank=True, max_length=200)),
                ('made_at', models.DateTimeField(auto_now_add=True)),
            ],
            options={
                'ordering': ('needed_by', 'id'),
                'constraints': [models.CheckConstraint(condition=models.Q(('is_firm', True), ('expires_on__isnull', False), _connector='OR'), name='soft_reservation_expires')],
            },
        ),
        migrations.CreateModel(
            name='Shelf',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(default='The workroom', max_length=120)),
                ('address', models.TextField(blank=True)),
                ('currency', models.CharField(default='EUR', max_length=3)),
                ('method', models.CharField(choices=[(inventory.reckoning.valuation.Method['AVERAGE'], 'Moving weighted average'), (inventory.reckoning.valuation.Method['FIFO'], 'First in, first out'), (inventory.reckoning.valuation.Method['LOT'], 'What the lot itself cost')], default=inventory.reckoning.valuation.Method['AVERAGE'], max_length=10)),
                ('holding_percent_per_year', models.PositiveSmallIntegerField(default=18)),
                ('surplus_days', models.PositiveSmallIntegerField(default=180)),
                ('remnant_width_mm', models.PositiveIntegerField(default=120)),
                ('remnant_length_mm', models.PositiveIntegerField(default=300)),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('pk', 1)), name='one_shelf_only')],
            },
        ),
        migrations.CreateModel(
            name='StockItem',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('size_tenths_mm', models.PositiveIntegerField(default=0)),
                ('code', models.SlugField(max_length=70, unique=True)),
                ('place', models.CharField(blank=True, max_length=60, verbose_name='storage place')),
                ('policy', models.CharField(choices=[('as-needed', 'Bought for the job'), ('safety', 'Kept, with a reserve of'), ('service', 'Kept so that it lasts in')], default='as-needed', max_length=10)),
                ('safety', models.PositiveBigIntegerField(default=0)),
                ('service_percent', models.PositiveSmallIntegerField(default=95, validators=[django.core.validators.MinValueValidator(50), django.core.validators.MaxValueValidator(99)])),
                ('cover_weeks', models.PositiveSmallIntegerField(blank=True, null=True, validators=[django.core.validators.MaxValueValidator(52)])),
                ('on_hand', models.BigIntegerField(default=0)),
                ('in_remnants', models.BigIntegerField(default=0)),
                ('value_minor', models.BigIntegerField(default=0)),
                ('material', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='items', to='inventory.stockmaterial')),
            ],
            options={
                'ordering': ('material__kind', 'material__sort_order', 'material__code', 'size_tenths_mm'),
            },
        ),
        migrations.CreateModel(
            name='ReservationLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('quantity', models.PositiveBigIntegerField()),
                ('operation', models.CharField(max_length=60)),
                ('needs_one_lot', models.BooleanField(default=False)),
                ('issued', models.BigIntegerField(default=0)),
                ('lot', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='reservation_lines', to='inventory.lot')),
                ('reservation', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='lines', to='inventory.reservation')),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='reservation_lines', to='inventory.stockitem')),
            ],
            options={
                'ordering': ('id',),
            },
        ),
        migrations.AddField(
            model_name='purchaseline',
            name='item',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='purchase_lines', to='inventory.stockitem'),
        ),
        migrations.AddField(
            model_name='offer',
            name='item',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='offers', to='inventory.stockitem'),
        ),
        migrations.CreateModel(
            name='Movement',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('day', models.DateField()),
                ('quantity', models.BigIntegerField()),
                ('value_minor', models.BigIntegerField()),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='movements', to='inventory.lot')),
                ('posting', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='movements', to='inventory.posting')),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='movements', to='inventory.stockitem')),
            ],
            options={
                'ordering': ('id',),
            },
        ),
        migrations.AddField(
            model_name='lot',
            name='item',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lots', to='inventory.stockitem'),
        ),
        migrations.CreateModel(
            name='Stocktake',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveIntegerField(unique=True)),
                ('place', models.CharField(blank=True, max_length=60)),
                ('is_blind', models.BooleanField(default=True)),
                ('state', models.CharField(choices=[('open', 'Being counted'), ('posted', 'Posted'), ('dropped', 'Dropped')], default='open', max_length=10)),
                ('started_at', models.DateTimeField()),
                ('posted_at', models.DateTimeField(null=True)),
                ('why', models.CharField(blank=True, max_length=200)),
                ('posting', models.OneToOneField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='stocktake', to='inventory.posting')),
                ('started_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('-number',),
            },
        ),
        migrations.CreateModel(
            name='CountLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('counted', models.PositiveBigIntegerField(null=True)),
                ('book_quantity', models.BigIntegerField(null=True)),
                ('how', models.CharField(blank=True, max_length=120)),
                ('reason', models.CharField(blank=True, max_length=120)),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='count_lines', to='inventory.lot')),
                ('stocktake', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='lines', to='inventory.stocktake')),
            ],
            options={
                'ordering': ('id',),
            },
        ),
        migrations.CreateModel(
            name='Substitute',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('ask', models.BooleanField(default=False)),
                ('why', models.CharField(blank=True, max_length=120)),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='substitutes', to='inventory.stockitem')),
                ('stand_in', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='stands_in_for', to='inventory.stockitem')),
            ],
        ),
        migrations.AddField(
            model_name='offer',
            name='supplier',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='offers', to='inventory.supplier'),
        ),
        migrations.AddField(
            model_name='lot',
            name='supplier',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='lots', to='inventory.supplier'),
        ),
        migrations.AddIndex(
            model_name='posting',
            index=models.Index(fields=['kind', 'at'], name='postings_by_kind'),
        ),
        migrations.AddConstraint(
            model_name='stockitem',
            constraint=models.UniqueConstraint(fields=('material', 'size_tenths_mm'), name='item_size_is_unique'),
        ),
        migrations.AddConstraint(
            model_name='stockitem',
            constraint=models.CheckConstraint(condition=models.Q(('in_remnants__gte', 0), ('on_hand__gte', 0), ('value_minor__gte', 0)), name='item_is_never_oversold', violation_error_message='There is not so much on the shelf.'),
        ),
        migrations.AddIndex(
            model_name='reservationline',
            index=models.Index(condition=models.Q(('issued__lt', models.F('quantity'))), fields=['item'], name='reservation_lines_open'),
        ),
        migrations.AddConstraint(
            model_name='reservationline',
            constraint=models.UniqueConstraint(fields=('reservation', 'item', 'operation'), name='reservation_line_is_unique'),
        ),
        migrations.AddConstraint(
            model_name='reservationline',
            constraint=models.CheckConstraint(condition=models.Q(('issued__gte', 0)), name='reservation_line_is_not_negative'),
        ),
        migrations.AddIndex(
            model_name='purchaseline',
            index=models.Index(condition=models.Q(('is_closed', False), ('received__lt', models.F('quantity'))), fields=['item'], name='lines_due'),
        ),
        migrations.AddConstraint(
            model_name='purchaseline',
            constraint=models.CheckConstraint(condition=models.Q(('packs__gte', 1), ('quantity__gte', 1), ('received__gte', 0)), name='purchase_line_is_of_something'),
        ),
        migrations.AddIndex(
            model_name='movement',
            index=models.Index(fields=['day'], name='movements_by_day'),
        ),
        migrations.AddConstraint(
            model_name='movement',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('quantity__gt', 0), ('value_minor__gte', 0)), models.Q(('quantity__lt', 0), ('value_minor__lte', 0)), _connector='OR'), name='movement_has_one_direction'),
        ),
        migrations.AddConstraint(
            model_name='countline',
            constraint=models.UniqueConstraint(fields=('stocktake', 'lot'), name='count_line_is_unique'),
        ),
        migrations.AddConstraint(
            model_name='countline',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('book_quantity__isnull', True), ('counted__isnull', True)), models.Q(('book_quantity__isnull', False), ('counted__isnull', False)), _connector='OR'), name='counted_line_knows_its_book'),
        ),
        migrations.AddConstraint(
            model_name='substitute',
            constraint=models.UniqueConstraint(fields=('item', 'stand_in'), name='substitute_is_unique'),
        ),
        migrations.AddConstraint(
            model_name='substitute',
            constraint=models.CheckConstraint(condition=models.Q(('item', models.F('stand_in')), _negated=True), name='substitute_is_another_item', violation_error_message='A material does not stand in for itself.'),
        ),
        migrations.AddConstraint(
            model_name='purchaseorder',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['draft', 'cancelled']), ('placed_on__isnull', False), _connector='OR'), name='order_is_dated_once_placed'),
        ),
        migrations.AddConstraint(
            model_name='offer',
            constraint=models.CheckConstraint(condition=models.Q(('valid_from__isnull', True), ('valid_until__isnull', True), ('valid_until__gte', models.F('valid_from')), _connector='OR'), name='offer_ends_after_it_begins', violation_error_message='An offer ends after it begins.'),
        ),
        migrations.AddIndex(
            model_name='lot',
            index=models.Index(condition=models.Q(('on_hand__gt', 0)), fields=['item', 'received_on'], name='lots_with_stock'),
        ),
        migrations.AddConstraint(
            model_name='lot',
            constraint=models.CheckConstraint(condition=models.Q(('on_hand__gte', 0)), name='lot_is_never_oversold', violation_error_message='There is not so much in this lot.'),
        ),
        migrations.AddConstraint(
            model_name='lot',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('remnant_length_mm__isnull', True), ('remnant_width_mm__isnull', True)), models.Q(('remnant_length_mm__gt', 0), ('remnant_width_mm__gt', 0)), _connector='OR'), name='remnant_has_both_sizes'),
        ),
    ]
